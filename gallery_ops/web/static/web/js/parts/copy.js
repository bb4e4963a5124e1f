/**
 * Buttons that copy a text: [data-copy] names its element, [data-done] is said when it is done.
 * They appear only where copying works; everywhere else the text can be marked by hand.
 */
const board = navigator.clipboard;

for (const button of document.querySelectorAll("button[data-copy]")) {
  const source = document.getElementById(button.dataset.copy);
  if (!source || !board) {
    continue;
  }
  button.hidden = false;
  const words = button.textContent;
  button.addEventListener("click", async () => {
    try {
      await board.writeText(source.textContent);
      button.textContent = button.dataset.done;
    } catch {
      getSelection()?.selectAllChildren(source);
    }
    setTimeout(() => {
      button.textContent = words;
    }, 4000);
  });
}
