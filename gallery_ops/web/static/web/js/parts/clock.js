/** Clocks that run from the start of an emergency: minutes and seconds, once a second. */

const two = (n) => String(n).padStart(2, "0");
const offset = Date.parse(document.getElementById("main")?.dataset.now ?? "") - Date.now();

function tick() {
  for (const clock of document.querySelectorAll("[data-since]")) {
    const s = Math.max(0, Math.floor((Date.now() + (offset || 0) - Date.parse(clock.dataset.since)) / 1000));
    const minutes = Math.floor(s / 60);
    clock.textContent = minutes < 60 ? `${minutes}:${two(s % 60)}` : `${Math.floor(minutes / 60)}:${two(minutes % 60)}:${two(s % 60)}`;
  }
}

tick();
setInterval(tick, 1000);

document.addEventListener("keydown", (event) => {
  if (event.repeat || event.ctrlKey || event.metaKey || event.altKey || event.target.matches("input, select, textarea")) return;
  if (/^[1-7]$/.test(event.key)) document.querySelector(`[value="line:${event.key}"]`)?.click();
});
