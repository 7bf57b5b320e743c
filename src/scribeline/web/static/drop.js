// Files that are chosen or dropped are sent as they are; the page is told under which id they lie.
// A place is marked with data-drop-place, the kinds that it takes with data-kinds.

document.addEventListener("change", (event) => {
  const input = event.target;
  if (!(input instanceof HTMLInputElement) || !("drop" in input.dataset)) return;
  const files = [...input.files];
  input.value = "";
  send(input.closest("[data-drop-place]"), files);
});

for (const kind of ["dragover", "dragleave", "drop"]) {
  document.addEventListener(kind, (event) => {
    const place = event.target.closest?.("[data-drop-place]");
    if (!place) return;
    event.preventDefault();
    place.classList.toggle("drop-over", kind === "dragover");
    if (kind === "drop") send(place, [...event.dataTransfer.files]);
  });
}

async function send(place, files) {
  for (const file of files) {
    const said = place.querySelector(".drop-said");
    said.textContent = `Sending ${file.name}`;
    try {
      const { id } = await sent(place, file);
      said.textContent = `${file.name} has come in.`;
      emitEvent("came_in", { place: place.dataset.dropPlace, id });
    } catch (refusal) {
      said.textContent = refusal.message;
      return;
    }
  }
}

function sent(place, file) {
  const bar = place.querySelector("progress");
  const asked = new URLSearchParams({ name: file.name, kinds: place.dataset.kinds });
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("POST", `/incoming?${asked}`);
    request.responseType = "json";
    request.upload.onprogress = (event) => {
      bar.hidden = false;
      if (event.lengthComputable) bar.value = event.loaded / event.total;
    };
    request.onloadend = () => {
      bar.hidden = true;
      if (request.status === 201) resolve(request.response);
      else reject(new Error(words(file, request.response)));
    };
    request.send(file);
  });
}

function words(file, problem) {
  if (!problem) return `${file.name} did not arrive: the connection broke. Everything else is kept. Send it again.`;
  const parts = [problem.detail, problem.accepted && `Accepted: ${problem.accepted}.`, problem.what_to_do && `What to do: ${problem.what_to_do}.`];
  return parts.filter(Boolean).join(" ");
}
