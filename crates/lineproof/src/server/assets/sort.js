// A box: folders can be dropped, and the table fills while it is being sorted.
const REFRESH_MS = 300;

const progress = document.querySelector("[data-events]");
if (progress) follow(progress.dataset.events);

const form = document.getElementById("box");
if (form) takeFolders(form);

function follow(url) {
  const source = new EventSource(url);
  let timer = 0;
  source.addEventListener("progress", (event) => {
    const { over } = JSON.parse(event.data);
    if (over) {
      source.close();
      clearTimeout(timer);
      refresh(true);
    } else if (!timer) {
      timer = setTimeout(() => ((timer = 0), refresh(false)), REFRESH_MS);
    }
  });
}

async function refresh(over) {
  if (over) return location.reload();
  const response = await fetch(location.href);
  if (!response.ok) return;
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  for (const part of document.querySelectorAll("[data-part]")) {
    const fresh = page.querySelector(`[data-part="${part.dataset.part}"]`);
    if (fresh && !part.contains(document.activeElement)) part.replaceChildren(...fresh.childNodes);
  }
}

function takeFolders(form) {
  const drop = document.getElementById("drop");
  const said = document.getElementById("dropped");
  const dropped = [];
  drop.addEventListener("dragover", (event) => event.preventDefault());
  drop.addEventListener("drop", async (event) => {
    event.preventDefault();
    const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry()).filter(Boolean);
    for (const entry of entries) await collect(entry, dropped);
    said.textContent = `${dropped.length} files are ready.`;
  });
  form.addEventListener("submit", async (event) => {
    if (!dropped.length) return;
    event.preventDefault();
    const body = new FormData(form);
    for (const { file, path } of dropped) body.append("files", file, path);
    const response = await fetch("/api/sort", { method: "POST", body });
    const answer = await response.json();
    if (response.ok) location.assign(`/sort/${answer.id}`);
    else said.textContent = [answer.error, answer.help].filter(Boolean).join("; ");
  });
}

async function collect(entry, into) {
  if (entry.isFile) {
    const file = await new Promise((done, failed) => entry.file(done, failed));
    into.push({ file, path: entry.fullPath.replace(/^\//, "") });
    return;
  }
  const reader = entry.createReader();
  for (;;) {
    const some = await new Promise((done, failed) => reader.readEntries(done, failed));
    if (!some.length) return;
    for (const one of some) await collect(one, into);
  }
}
