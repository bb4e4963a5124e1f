// Six digits on a pad of our own: vessels fill, the sixth signs in. Without this script the plain
// field and its button do the same.

const LENGTH = 6;

/** @param {HTMLFormElement} form */
function wire(form) {
  const field = /** @type {HTMLInputElement} */ (form.querySelector("input[name=pin]"));
  const keys = /** @type {HTMLElement} */ (form.querySelector("[data-pin-keys]"));
  const submit = /** @type {HTMLElement} */ (form.querySelector("[data-pin-submit]"));
  const said = /** @type {HTMLElement} */ (form.querySelector("[data-pin-said]"));
  const vessels = [...form.querySelectorAll("[data-pin-vessels] path")];
  let sent = false;

  function show() {
    vessels.forEach((path, n) => path.setAttribute("class", n < field.value.length ? "f" : "o"));
    said.textContent = `${field.value.length} / ${LENGTH}`;
    if (field.value.length === LENGTH && !sent) {
      sent = true;
      form.requestSubmit();
    }
  }

  keys.hidden = false;
  submit.hidden = true;
  field.inputMode = "none";
  field.classList.add("vh");
  field.addEventListener("input", () => {
    field.value = field.value.replace(/\D/g, "").slice(0, LENGTH);
    show();
  });
  keys.addEventListener("click", (event) => {
    const key = /** @type {HTMLElement} */ (event.target).closest("button");
    if (!key) return;
    if (key.dataset.digit) field.value = (field.value + key.dataset.digit).slice(0, LENGTH);
    if ("erase" in key.dataset) field.value = field.value.slice(0, -1);
    if ("eraseAll" in key.dataset) field.value = "";
    show();
  });
  addEventListener("pageshow", () => {
    sent = false;
    field.value = "";
    show();
  });
}

document.querySelectorAll("form[data-pin-pad]").forEach((form) => wire(/** @type {HTMLFormElement} */ (form)));
