// Locks the screen after a time in which nobody touched keyboard, mouse or glass. The server locks by itself too;
// this takes what is shown off the screen.

const TOUCHES = ["pointerdown", "pointermove", "keydown", "wheel", "touchstart"];
const CHECK_MS = 5000;

/** Watch for touches and lock where the page says after how many seconds. */
export function watchIdleness(): void {
  const after = Number(document.body.dataset.lockAfterS ?? "0");
  if (!(after > 0)) return;
  let touched = Date.now();
  for (const name of TOUCHES) addEventListener(name, () => (touched = Date.now()), { passive: true });
  setInterval(() => {
    if (Date.now() - touched > after * 1000) lock();
  }, Math.min(CHECK_MS, after * 250));
}

function lock(): void {
  const here = location.pathname + location.search;
  location.replace(`/lock?then=${encodeURIComponent(here)}`);
}
