// The choices of a group are one stop of the Tab key; the arrow keys go from one to the next and choose it, round at the
// ends: the pattern "radio group" of the ARIA Authoring Practices, and what browsers do with choices of their own. The
// framework makes every choice a stop and leaves the arrow keys out.
const GROUP = "[role=radiogroup]";
const WAY = { ArrowDown: 1, ArrowRight: 1, ArrowUp: -1, ArrowLeft: -1 };

const choices = (group) => [...group.querySelectorAll("[role=radio]:not([aria-disabled=true])")];
const chosen = (all) => all.find((one) => one.ariaChecked === "true") ?? all[0];

// Before the key does what it does. The page may have been drawn anew since the last time, or another device have chosen.
function oneStopEach() {
  for (const group of document.querySelectorAll(GROUP)) {
    const all = choices(group);
    const stop = all.find((one) => one === document.activeElement) ?? chosen(all); // a choice just made is on its way
    for (const one of all) one.tabIndex = one === stop ? 0 : -1;
  }
}

document.addEventListener("keydown", (event) => {
  if (event.key === "Tab") return oneStopEach();
  const here = event.target.closest?.("[role=radio]");
  const way = WAY[event.key];
  if (!way || !here?.closest(GROUP) || event.ctrlKey || event.altKey || event.metaKey) return;
  event.preventDefault();
  const all = choices(here.closest(GROUP));
  const to = all.at((all.indexOf(here) + way) % all.length);
  to.tabIndex = 0;
  if (to.ariaChecked !== "true") to.click(); // after which the framework has the focus on something within
  to.focus();
}, true);

// A list that unfolds holds its options in a box that could have the focus, which nothing in a list may but an option: who
// hears the page would be told of a list of nothing.
function onlyOptions(id, tries = 10) {
  const box = document.getElementById(id)?.querySelector(".q-virtual-scroll__content");
  if (box) box.removeAttribute("tabindex");
  else if (tries) setTimeout(onlyOptions, 30, id, tries - 1);
}

new MutationObserver((changes) => {
  for (const { target } of changes) {
    if (target.ariaExpanded === "true" && target.hasAttribute("aria-controls")) onlyOptions(target.getAttribute("aria-controls"));
  }
}).observe(document.body, { subtree: true, attributes: true, attributeFilter: ["aria-expanded"] });
