"""The crank's bar and the fields of the port in hand as HTML; what they do is in static/crank.js and work_out.js."""

from html import escape

from scribeline.tasks.as_if import Travel
from scribeline.tasks.live_drawings import measured_how, port_named
from scribeline.tasks.work_out_frame import Frame

# Turns of the crank in a minute: slow enough to see a port open; these are ours by choice.
_SPEEDS = ((2, "very slow"), (6, "slow"), (20, "walking"), (60, "quick"))
_STEPS = {"roof": ("up", "down"), "floor": ("up", "down"), "width": ("narrower", "wider")}


def crank_bar(frame: Frame, first_deg: float) -> str:
    """Play, slider, marks, and what is open now."""
    speeds = "".join(
        f'<option value="{turns}"{" selected" if words == "slow" else ""}>{words}</option>' for turns, words in _SPEEDS
    )
    areas = (frame.turning.get("areas") or {}).get("mm2", {})
    now = "".join(
        f'<span class="open-now"><span>{escape(name)}</span> <b data-open="{escape(name)}"></b></span>'
        for name in areas
    )
    return (
        f'<div class="crank-row">{_button("chief-plain", "play", "<span>Turn</span>")}'
        '<label class="crank-speed"><span class="sr-only">How fast</span>'
        f'<select data-crank="speed">{speeds}</select></label>'
        f"{_button('', 'mark', '&lsaquo; mark', '-1', 'Back to the mark before')}"
        f"{_button('by', 'by', '&minus;1&deg;', '-1', 'One degree back')}"
        '<div class="crank-slider"><div class="crank-rule" aria-hidden="true"></div>'
        f'<input type="range" min="0" max="359.5" step="0.5" value="{first_deg:.1f}" data-crank="angle" '
        'aria-label="Crank angle"></div>'
        f"{_button('by', 'by', '+1&deg;', '1', 'One degree on')}"
        f"{_button('', 'mark', 'mark &rsaquo;', '1', 'On to the next mark')}</div>"
        '<div class="crank-read"><b class="crank-deg" data-crank="deg"></b>'
        '<span class="crank-open"><span class="open-now"><span>crown</span> <b data-crank="depth"></b></span>'
        f'{now}<span id="crank-said" role="status"></span></span><span class="moved-now" data-moved></span></div>'
    )


def _button(kind: str, what: str, words: str, by: str = "", label: str = "") -> str:
    does = f'data-crank-{what}="{by}" aria-label="{label}"' if by else f'data-crank="{what}" aria-pressed="false"'
    return f'<button type="button" class="plain {kind}" {does}>{words}</button>'


def port_tabs(frame: Frame) -> str:
    """The ports, one of them in hand."""
    return "".join(
        f'<button type="button" class="plain" data-port-tab="{escape(name)}" aria-pressed="false">'
        f"{escape(name)}</button>"
        for name in frame.fields
    )


def port_fields(frame: Frame) -> str:
    """The fields of every port; the browser shows those of the one in hand."""
    travels: dict[str, dict[str, Travel]] = {}
    for held in frame.grip.get("edges", ()):
        travel = held["travel"]
        travels.setdefault(travel["port"], {})[travel["side"]] = Travel(**travel)
    return "".join(
        f'<div class="port-panel" data-port-panel="{escape(name)}" hidden>'
        + "".join(_edge(frame, number, travel) for travel in travels.get(name, {}).values())
        + _opens(frame, number, name)
        + "</div>"
        for number, name in enumerate(frame.fields)
    )


def _edge(frame: Frame, number: int, travel: Travel) -> str:
    unit, step = frame.lengths["unit"], frame.lengths["fine"]
    field, less_more = f"{travel.port}|{travel.side}", _STEPS[travel.side]
    one_id = f"edge-{number}-{travel.side}"
    buttons = [
        f'<button type="button" class="plain" data-step="{escape(field)}" data-by="{by:g}" '
        f'aria-label="{escape(f"{travel.port}, {travel.side}: {step:g} {unit} {words}")}">{words}</button>'
        for by, words in zip((-step, step), less_more, strict=True)
    ]
    return (
        f'<div class="edge"><label for="{one_id}">{escape(travel.label)}, {unit}</label>'
        f'<div class="edge-row">{buttons[0]}'
        f'<input id="{one_id}" data-field="{escape(field)}" inputmode="decimal" autocomplete="off" '
        f'data-path="as_if.{escape(travel.port)}.{travel.side}_mm" aria-describedby="{one_id}-how">{buttons[1]}</div>'
        f'<p class="quiet" id="{one_id}-how">{escape(measured_how(frame.bench, travel.port, travel.side))}</p>'
        f'<p class="refused" data-refused="{escape(field)}" role="alert"></p></div>'
    )


def _opens(frame: Frame, number: int, name: str) -> str:
    port = port_named(frame.bench, name)
    if port is None or frame.fields[name]["opens"] is None:
        return ""
    field, one_id = f"{name}|opens", f"edge-{number}-opens"
    where = "before" if port.role == "intake" else "after"
    return (
        f'<div class="edge"><label for="{one_id}">opens, degrees {where} top dead centre</label><div class="edge-row">'
        f'<input id="{one_id}" data-field="{escape(field)}" inputmode="decimal" autocomplete="off" '
        f'data-path="as_if.{escape(name)}.opens"></div>'
        f'<p class="quiet">Type an angle: the {frame.fields[name]["by"]} goes where it must be.</p>'
        f'<p class="refused" data-refused="{escape(field)}" role="alert"></p></div>'
    )
