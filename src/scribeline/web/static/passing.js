// A message in passing stands above what is held at the bottom of the screen: the steps on a telephone, the bar that turns
// the crank, the keys of the instrument in hand. They are what the next press goes to.
const BARS = ".steps, .crank, .hand";
const GAP_PX = 8; // as far as a message stands off from what is below it

function room() {
  const bars = [...document.querySelectorAll(BARS)].filter((one) => one.checkVisibility());
  let bottom = innerHeight;
  for (const { top, bottom: end } of bars.map((one) => one.getBoundingClientRect()).sort((a, b) => b.bottom - a.bottom)) {
    if (top > 0 && top < bottom && end > bottom - 2 * GAP_PX) bottom = top;
  }
  document.documentElement.style.setProperty("--held", `${Math.round(innerHeight - bottom)}px`);
}

// The framework makes the place for its messages when it begins.
const waiting = setInterval(() => {
  const place = document.querySelector(".q-notifications");
  if (!place) return;
  clearInterval(waiting);
  new MutationObserver(room).observe(place, { childList: true, subtree: true });
  room();
}, 100);
