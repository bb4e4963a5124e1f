/**
 * A van is written down: the figures beside the fields follow at once. The page works without
 * this; then the same buttons send the form, which comes back with what follows.
 */
const form = document.getElementById("receipt");
let asked = 0;

/** Puts the parts of a fresh page in place of the old ones; fields that are typed in stay. */
function put(fresh) {
  const focused = document.activeElement?.id;
  for (const part of fresh.querySelectorAll("[data-part]")) {
    const old = document.getElementById(part.id);
    const same = part.dataset.rows !== undefined && part.dataset.rows === old?.dataset.rows;
    if (old && !same) {
      old.replaceWith(document.importNode(part, true));
    }
  }
  if (focused && document.activeElement?.id !== focused) {
    document.getElementById(focused)?.focus();
  }
}

async function follow() {
  asked += 1;
  const mine = asked;
  const body = new FormData(form);
  body.set("deed", "look");
  try {
    const answer = await fetch(location.href, { method: "POST", body, credentials: "same-origin" });
    if (answer.ok && mine === asked) {
      put(new DOMParser().parseFromString(await answer.text(), "text/html"));
    }
  } catch {
    // No network: what is typed stays, the buttons of the page say so when they are pressed.
  }
}

if (form) {
  document.getElementById("look").hidden = true;
  form.addEventListener("change", (event) => {
    if (event.target.closest("[data-recount]")) {
      follow();
    }
  });
  form.addEventListener("click", (event) => {
    const button = event.target.closest("button[name=step]");
    if (!button) {
      return;
    }
    event.preventDefault();
    const [name, way] = button.value.split(":");
    const input = document.getElementById(name);
    const now = Number.parseInt(input.value, 10) || 0;
    input.value = String(Math.max(0, now + (way === "up" ? 1 : -1)));
    follow();
  });
}
