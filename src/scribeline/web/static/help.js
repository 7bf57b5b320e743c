// The help opens beside the page, so that nothing of the page is left. Without this file its links lead to pages.

let opener = null;

document.addEventListener("click", (event) => {
  const link = event.target.closest?.("a[data-help], .help-panel .help-text a[href^='/help']");
  if (!link || event.button || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
  if (location.pathname.startsWith("/help")) return;
  event.preventDefault();
  if (!link.closest(".help-panel")) opener = link;
  show(link.getAttribute("href"));
});

document.addEventListener("keydown", (event) => {
  const panel = document.querySelector(".help-panel[open]");
  if (event.key === "Escape" && panel) {
    event.stopPropagation();
    close(panel);
  }
}, true);

async function show(address) {
  const [path, part] = address.split("#");
  let found;
  try {
    const answer = await fetch(path.replace(/^\/help/, "/help-text"));
    if (!answer.ok) throw new Error();
    found = await answer.json();
  } catch {
    location.href = address; // the page itself says what is wrong
    return;
  }
  const panel = document.querySelector(".help-panel") ?? made();
  panel.querySelector("h2").textContent = found.title;
  panel.querySelector("a").href = address;
  panel.querySelector("article").innerHTML = found.html;
  if (!panel.open) panel.show();
  panel.scrollTop = 0;
  panel.querySelector("h2").focus();
  if (part) panel.querySelector(`#${CSS.escape(part)}`)?.scrollIntoView();
}

function made() {
  const panel = document.createElement("dialog");
  panel.className = "help-panel";
  panel.setAttribute("aria-label", "Help");
  panel.innerHTML = `<div class="help-panel-head"><h2 tabindex="-1"></h2><a>As a page</a>
    <button type="button">Close</button></div><article class="help-text"></article>`;
  panel.querySelector("button").addEventListener("click", () => close(panel));
  document.body.append(panel);
  return panel;
}

function close(panel) {
  panel.close();
  opener?.focus();
}
