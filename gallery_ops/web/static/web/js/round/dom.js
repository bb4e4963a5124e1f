// Elements without markup in strings: nothing typed by anybody is ever read as HTML.

const SVG = "http://www.w3.org/2000/svg";

/** @typedef {Node | string | number | null | false | undefined} Child */

/**
 * @param {Element} element
 * @param {Record<string, unknown>} attrs  on… is a listener; true is an empty attribute; null and false leave it out
 * @param {unknown[]} kids
 */
function fill(element, attrs, kids) {
  for (const [name, value] of Object.entries(attrs)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), /** @type {EventListener} */ (value));
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  for (const kid of /** @type {Child[]} */ (kids.flat(Infinity))) {
    if (kid !== null && kid !== undefined && kid !== false) element.append(typeof kid === "number" ? String(kid) : kid);
  }
}

/**
 * @param {string} name
 * @param {Record<string, unknown>} [attrs]
 * @param {...unknown} kids  nodes, texts, lists of them; null and false are left out
 * @returns {HTMLElement}
 */
export function h(name, attrs = {}, ...kids) {
  const element = document.createElement(name);
  fill(element, attrs, kids);
  return element;
}

/**
 * @param {string} name
 * @param {Record<string, unknown>} [attrs]
 * @param {...unknown} kids  nodes, texts, lists of them; null and false are left out
 * @returns {SVGElement}
 */
export function s(name, attrs = {}, ...kids) {
  const element = /** @type {SVGElement} */ (document.createElementNS(SVG, name));
  fill(element, attrs, kids);
  return element;
}

/**
 * A plain button of the page.
 * @param {string} text
 * @param {(event: Event) => void} onclick
 * @param {Record<string, unknown>} [attrs]
 */
export function button(text, onclick, attrs = {}) {
  return h("button", { class: "btn", type: "button", onclick, ...attrs }, text);
}

/**
 * Hands a file to whoever sits here, as a browser saves one.
 * @param {string} name
 * @param {string} text
 */
export function giveFile(name, text) {
  const address = URL.createObjectURL(new Blob([text], { type: "application/json" }));
  h("a", { href: address, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

/** Resolves when what was changed is on the glass; a page that is not seen paints nothing and waits 50 ms. */
export function afterFrame() {
  return new Promise((done) => {
    const late = setTimeout(done, 50);
    requestAnimationFrame(() => setTimeout(() => (clearTimeout(late), done(null)), 0));
  });
}
