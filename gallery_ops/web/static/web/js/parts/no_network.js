// Which rounds does this tablet keep? One link to each, newest first.

const list = /** @type {HTMLElement} */ (document.getElementById("kept-rounds"));

async function fill() {
  if (!("caches" in globalThis)) return;
  const kept = await (await caches.open("pages")).keys();
  const rounds = kept.map((request) => new URL(request.url).pathname).filter((path) => /^\/rounds\/[^/]+\/$/.test(path));
  for (const path of rounds.reverse()) {
    const link = document.createElement("a");
    link.className = "btn btn-wet";
    link.href = path;
    link.textContent = `${list.dataset.word} ${decodeURIComponent(path.split("/")[2])}`;
    const row = document.createElement("li");
    row.append(link);
    list.append(row);
  }
}

void fill();
