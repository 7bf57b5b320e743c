"""A film with pictures and sound, dropped on the page as a hand drops it: the browser is told of the drag itself."""

import re
from collections.abc import Callable
from pathlib import Path
from urllib.parse import quote

import av
import numpy as np
from playwright.sync_api import Locator, Page, expect

from scribeline.recordings.invented import invented_runs
from scribeline.recordings.invented.files import write_film
from scribeline.tasks.trials import show_trial
from tests.web.browser.serving import Served

SIZE = (320, 240)


def write_video(path: Path, sound: Path, seconds: int) -> None:
    """`sound`, as it is, beside pictures of noise in H.264, ten a second: as a phone writes them."""
    rng = np.random.default_rng(3)
    with av.open(sound) as heard, av.open(path, "w") as film:
        pictures = film.add_stream("libx264", rate=10)
        pictures.width, pictures.height = SIZE
        pictures.pix_fmt = "yuv420p"
        told = film.add_stream_from_template(heard.streams.audio[0])
        for _ in range(10 * seconds):
            noise = rng.integers(0, 255, (SIZE[1], SIZE[0], 3), dtype=np.uint8)
            film.mux(pictures.encode(av.VideoFrame.from_ndarray(noise)))
        film.mux(pictures.encode(None))
        for packet in heard.demux(audio=0):
            if packet.dts is not None:
                packet.stream = told
                film.mux(packet)


def drop(page: Page, onto: Locator, path: Path) -> None:
    """What Chromium itself is told when files are dragged in from a folder's window and let go."""
    onto.scroll_into_view_if_needed()
    box = onto.bounding_box()
    assert box is not None
    talk = page.context.new_cdp_session(page)
    data = {"items": [], "files": [str(path)], "dragOperationsMask": 1}
    for kind in ("dragEnter", "dragOver", "drop"):
        at = {"x": box["x"] + box["width"] / 2, "y": box["y"] + box["height"] / 2}
        talk.send("Input.dispatchDragEvent", {"type": kind, **at, "data": data})


def test_a_video_is_dropped_and_its_pulls_are_found(
    looked_at: Served, kart_of_its_own: str, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    name = kart_of_its_own
    write_film(tmp_path / "heard.m4a", invented_runs()[0], 5)
    write_video(tmp_path / "pass by.mp4", tmp_path / "heard.m4a", 22)
    with av.open(tmp_path / "pass by.mp4") as film:
        assert (len(film.streams.video), len(film.streams.audio)) == (1, 1)

    page = open_page(f"{looked_at.url}cylinder/{quote(name)}/prove?trial={quote(name)}")
    page.get_by_label("Setup that was driven").fill("as bought")
    page.keyboard.press("Tab")
    drop(page, page.locator(".drop"), tmp_path / "pass by.mp4")
    expect(page.get_by_text(re.compile(r"pass by\.mp4: added, 2 pulls \(sound\)"))).to_be_visible()
    kept = show_trial(name, where=looked_at.notebook).state
    assert [one.file_name for one in kept.files] == ["pass by.mp4"]
    assert page.url.startswith(looked_at.url)  # it was not opened in place of the page
    expect(page.get_by_role("button", name=re.compile("pass by.mp4")).first).to_be_visible()
