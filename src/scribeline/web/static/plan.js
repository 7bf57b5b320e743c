// What is unfolded stays so over a reload; kept by this browser alone, as it is nobody else's business.
const KEY = `scribeline:folds:${location.pathname}`;

function kept() {
  try {
    return new Set(JSON.parse(localStorage.getItem(KEY) ?? "[]"));
  } catch {
    return new Set();
  }
}

const open = kept();

document.addEventListener(
  "toggle",
  (event) => {
    const name = event.target.dataset?.fold;
    if (!name) return;
    if (event.target.open) open.add(name);
    else open.delete(name);
    try {
      localStorage.setItem(KEY, JSON.stringify([...open]));
    } catch {
      // no room or no permission: then it is folded at the next load
    }
  },
  true,
);

function unfold() {
  for (const one of document.querySelectorAll("details[data-fold]:not([data-seen])")) {
    one.dataset.seen = "";
    if (open.has(one.dataset.fold)) one.open = true;
  }
}

new MutationObserver(unfold).observe(document.body, { childList: true, subtree: true });
unfold();
