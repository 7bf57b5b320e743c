// The cylinders: drawings are fetched when they come into view, and the list is narrowed down as one types.

const drawn = new IntersectionObserver((entries) => {
  for (const entry of entries) {
    if (!entry.isIntersecting) continue;
    drawn.unobserve(entry.target);
    draw(entry.target);
  }
}, { rootMargin: "300px" });

async function draw(place) {
  try {
    const answer = await fetch(place.dataset.small);
    if (answer.ok) place.innerHTML = await answer.text();
  } catch {
    // without its drawing a cylinder is still found by its name
  }
}

function begin(list) {
  for (const place of list.querySelectorAll("[data-small]")) drawn.observe(place);
  for (const link of list.querySelectorAll("[data-name]")) {
    const step = localStorage.getItem(`scribeline:step:${link.dataset.name}`);
    if (step && /^[a-z-]+$/.test(step)) link.href = `/cylinder/${encodeURIComponent(link.dataset.name)}/${step}`;
  }
}

// The list comes with the page's content, which the framework puts in place after this file was read.
const watch = new MutationObserver(() => {
  const list = document.querySelector("[data-cylinders]");
  if (!list || list.dataset.begun) return;
  list.dataset.begun = "yes";
  begin(list);
});
watch.observe(document.documentElement, { childList: true, subtree: true });

document.addEventListener("input", (event) => {
  if (!("search" in (event.target.dataset ?? {}))) return;
  const wanted = event.target.value.toLowerCase().split(/\s+/).filter(Boolean);
  let found = 0;
  const items = document.querySelectorAll("[data-words]");
  for (const item of items) {
    item.hidden = !wanted.every((word) => item.dataset.words.includes(word));
    if (!item.hidden) found += 1;
  }
  const said = document.querySelector("[data-found]");
  if (said) said.textContent = wanted.length ? `${found} of ${items.length} cylinders` : `${items.length} cylinders`;
});
