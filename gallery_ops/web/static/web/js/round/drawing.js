// The tank's own front view, fetched once by its address and put into the page so that the scheme colours it.

import { s } from "./dom.js";

/** @type {Map<string, SVGSVGElement | null>} */
const known = new Map();
const ALLOWED = /^\/drawings\/[\w-]+\.svg$/;
let copies = 0;

/**
 * @param {string} address
 * @returns {Promise<void>}
 */
export async function fetchDrawing(address) {
  if (known.has(address) || !ALLOWED.test(address)) return;
  known.set(address, null);
  try {
    const response = await fetch(address, { credentials: "same-origin" });
    if (!response.ok) throw new Error(String(response.status));
    const text = (await response.text()).replace(/<style[\s\S]*?<\/style>/g, ""); // the page colours it
    const parsed = new DOMParser().parseFromString(text, "image/svg+xml");
    const root = parsed.documentElement;
    if (root.nodeName !== "svg") throw new Error("not a drawing");
    for (const element of root.querySelectorAll("script, style, foreignObject")) element.remove();
    known.set(address, /** @type {SVGSVGElement} */ (/** @type {unknown} */ (root)));
  } catch {
    known.delete(address);
  }
}

/**
 * @param {string | null} address
 * @returns {boolean}
 */
export function isFetched(address) {
  return Boolean(address && known.get(address));
}

/**
 * A copy with names of its own for its gradients.
 * @param {string | null} address
 * @returns {SVGSVGElement | null} null while it is not there
 */
export function drawing(address) {
  const original = address ? known.get(address) : null;
  if (!original) return null;
  const copy = /** @type {SVGSVGElement} */ (document.importNode(original, true));
  copies += 1;
  const names = new Map();
  for (const element of copy.querySelectorAll("[id]")) {
    names.set(element.id, `${element.id}-${copies}`);
    element.id = names.get(element.id);
  }
  if (names.size) {
    for (const element of copy.querySelectorAll("*")) {
      for (const { name, value } of [...element.attributes]) {
        const changed = value.replace(/url\(#([^)]+)\)/g, (all, id) => (names.has(id) ? `url(#${names.get(id)})` : all));
        if (changed !== value) element.setAttribute(name, changed);
        else if (name === "href" && value.startsWith("#") && names.has(value.slice(1))) element.setAttribute(name, `#${names.get(value.slice(1))}`);
      }
    }
  }
  return copy;
}

/**
 * The front view of a tank at a size, or bare glass in its proportion while there is no drawing.
 * @param {import("./pack.js").Tank} tank
 * @param {Record<string, string | number | null>} attrs
 */
export function frontView(tank, attrs) {
  const inside = drawing(tank.drawing);
  const view = inside ?? bareGlass(tank);
  for (const name of ["width", "height", "style", "role", "aria-label"]) view.removeAttribute(name);
  view.classList.add("elev");
  for (const [name, value] of Object.entries(attrs)) {
    if (value === null) continue;
    if (name === "class") view.classList.add(...String(value).split(" "));
    else view.setAttribute(name, String(value));
  }
  return view;
}

/** @param {import("./pack.js").Tank} tank */
function bareGlass({ width_mm, height_mm }) {
  const [w, high] = [width_mm / 10, height_mm / 10];
  return s(
    "svg",
    { class: "elev", viewBox: `-1.2 -1.2 ${w + 2.4} ${high + 2.4}` },
    s("path", { class: "lv", d: `M0 2.5H${w}` }),
    s("path", { class: "gl", "stroke-width": 0.8, d: `M0 0V${high}H${w}V0` }),
  );
}
