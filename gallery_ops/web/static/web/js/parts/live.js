// A board that asks again by itself, every so many seconds, but only while somebody can see it.

for (const part of document.querySelectorAll("[data-live]")) {
  const seconds = Number(/** @type {HTMLElement} */ (part).dataset.live);
  setInterval(() => {
    if (document.visibilityState === "visible" && !part.contains(document.activeElement)) {
      part.dispatchEvent(new Event("ask-again"));
    }
  }, seconds * 1000);
}
