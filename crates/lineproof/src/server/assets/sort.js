// A box: folders can be dropped, a folder can be watched, and the table fills while it is being sorted.
const REFRESH_MS = 300;
/** Time between two looks into a watched folder. */
const LOOK_MS = 700;
/** Looks that a file must have stood still for, so that none is taken half written. */
const STILL_LOOKS = 2;
/** The server takes larger requests; in parts one sees how far it is. */
const SENT_AT_ONCE_BYTES = 8 << 20;

/** Endings of sweeps, as the form names them. */
let endings = [];
/** The events that are listened to. */
let following = null;

const form = document.getElementById("box");
if (form) takeFolders(form);
followIfNotOver();

// ---------------------------------------------------------------- the table

function followIfNotOver() {
  const part = document.querySelector("[data-events]");
  if (part && !following) follow(part.dataset.events);
}

function follow(url) {
  following = new EventSource(url);
  let timer = 0;
  following.addEventListener("progress", (event) => {
    if (JSON.parse(event.data).over) {
      following.close();
      following = null;
      clearTimeout(timer);
      refresh();
    } else if (!timer) {
      timer = setTimeout(() => ((timer = 0), refresh()), REFRESH_MS);
    }
  });
}

async function fetched(address) {
  const response = await fetch(address);
  return response.ok ? new DOMParser().parseFromString(await response.text(), "text/html") : null;
}

async function refresh() {
  const page = await fetched(location.href);
  if (!page) return;
  const before = grades();
  for (const part of document.querySelectorAll("[data-part]")) {
    const fresh = page.querySelector(`[data-part="${part.dataset.part}"]`);
    if (fresh) replace(part, fresh);
  }
  sayWhatIsNew(before);
  followIfNotOver();
}

/** The cursor stays at the cable where it was. */
function replace(part, fresh) {
  const at = part.contains(document.activeElement) ? document.activeElement.value : null;
  part.replaceChildren(...fresh.childNodes);
  if (at) part.querySelector(`button[value="${CSS.escape(at)}"]`)?.focus();
}

/** What each cable is, by its name. */
function grades() {
  const rows = [...document.querySelectorAll("tbody tr[data-cable]")];
  return new Map(rows.map((row) => [row.dataset.cable, row.dataset.says]));
}

// ---------------------------------------------------------------- the form

function takeFolders(form) {
  const drop = document.getElementById("drop");
  const said = document.getElementById("dropped");
  const watch = document.getElementById("watch");
  const wanted = document.getElementById("watched");
  const pick = document.getElementById("pick");
  endings = document.getElementById("files").accept.split(",");
  let folders = [];
  const take = async (roots) => {
    folders.push(...roots);
    said.textContent = `${(await listed(folders)).length} files ready.`;
    watch.hidden = !folders.some((folder) => folder.isDirectory);
  };
  drop.addEventListener("dragover", (event) => event.preventDefault());
  drop.addEventListener("drop", (event) => {
    event.preventDefault();
    take([...event.dataTransfer.items].map((item) => item.webkitGetAsEntry()).filter(Boolean));
  });
  // Not every browser lets a page look into a folder again.
  if (pick && window.showDirectoryPicker) {
    pick.hidden = false;
    pick.addEventListener("click", async () => {
      const handle = await window.showDirectoryPicker().catch(() => null);
      if (!handle) return;
      wanted.checked = true;
      take([{ isDirectory: true, handle }]);
    });
  }
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const button = form.querySelector("button.main");
    button.disabled = true;
    const watched = wanted.checked && !watch.hidden;
    try {
      const chosen = [...form.querySelectorAll("input[type=file]")].flatMap((input) => [...input.files]);
      const files = chosen.map((file) => ({ file, path: file.webkitRelativePath || file.name }));
      const all = [...files, ...(await listed(folders))];
      // While a folder is watched, a file that is just being written has its turn when it is whole.
      const id = await begin(form, watched ? files : all, watched, (text) => (said.textContent = text));
      if (watched) watchFolders(id, folders);
      else location.assign(`/sort/${id}`);
    } catch (error) {
      said.textContent = error.message;
      button.disabled = false;
      for (const field of error.fields ?? []) {
        const input = form.querySelector(`[data-field="${field}"] input:not([type=file])`);
        input?.setAttribute("aria-invalid", "true");
        input?.focus();
      }
    }
  });
}

async function begin(form, files, watched, say) {
  const first = new FormData();
  for (const [name, text] of new FormData(form)) if (typeof text === "string") first.append(name, text);
  if (watched) first.append("watched", "yes");
  const parts = inParts(files);
  const { id } = await post("/api/sort", withFiles(first, parts.shift() ?? []));
  let sent = files.length - parts.flat().length;
  for (const part of parts) {
    say(`${sent} of ${files.length} files sent.`);
    await post(`/api/sort/${id}/files`, withFiles(new FormData(), part));
    sent += part.length;
  }
  return id;
}

function inParts(files) {
  const parts = [];
  let bytes = Infinity;
  for (const one of files) {
    const size = isSweep(one) ? one.file.size : 0;
    if (bytes + size > SENT_AT_ONCE_BYTES) {
      parts.push([]);
      bytes = 0;
    }
    parts.at(-1).push(one);
    bytes += size;
  }
  return parts;
}

/** Of what is no sweep (the photos on a memory card) only the name is sent: it is passed over. */
function withFiles(body, files) {
  for (const one of files) body.append("files", isSweep(one) ? one.file : new Blob(), one.path);
  return body;
}

function isSweep({ path }) {
  return endings.some((ending) => path.toLowerCase().endsWith(ending));
}

async function post(address, body) {
  const response = await fetch(address, { method: "POST", body });
  const answer = await response.json();
  if (response.ok) return answer;
  const error = new Error([answer.error, answer.help].filter(Boolean).join("; "));
  throw Object.assign(error, { fields: (answer.fields ?? []).map((field) => field.field) });
}

// ---------------------------------------------------------------- folders

/** All files of these entries, with the folders in them. */
async function listed(entries) {
  const files = [];
  for (const entry of entries) {
    if (entry.handle) await collectHandle(entry.handle, entry.handle.name, files);
    else await collectEntry(entry, files);
  }
  return files;
}

async function collectEntry(entry, into) {
  if (entry.isFile) {
    const file = await new Promise((done) => entry.file(done, () => done(null)));
    if (file) into.push({ file, path: entry.fullPath.replace(/^\//, "") });
    return;
  }
  const reader = entry.createReader();
  for (;;) {
    const some = await new Promise((done, failed) => reader.readEntries(done, failed));
    if (!some.length) return;
    for (const one of some) await collectEntry(one, into);
  }
}

async function collectHandle(handle, path, into) {
  for await (const child of handle.values()) {
    const at = `${path}/${child.name}`;
    if (child.kind === "directory") await collectHandle(child, at, into);
    else {
      const file = await child.getFile().catch(() => null);
      if (file) into.push({ file, path: at });
    }
  }
}

// ---------------------------------------------------------------- watching

/** The box takes the place of the form: a page that is loaded anew could not look into the folder. */
async function watchFolders(id, folders) {
  const address = `/sort/${id}`;
  const page = await fetched(address);
  document.querySelector("main").replaceChildren(...page.querySelector("main").childNodes);
  history.pushState(null, "", address);
  const shown = document.getElementById("watching");
  shown.hidden = false;
  shown.querySelector("h2").focus();
  let goesOn = true;
  document.getElementById("unwatch").addEventListener("click", () => (goesOn = false));
  window.addEventListener("popstate", () => location.reload());
  const seen = new Map();
  while (goesOn) {
    try {
      const ready = whole(await listed(folders), seen);
      for (const part of inParts(ready)) await post(`/api/sort/${id}/files`, withFiles(new FormData(), part));
      for (const { path } of ready) seen.get(path).sent = true;
      if (ready.length) await refresh();
    } catch (error) {
      // A card that is drawn comes back; what is not sent is sent at a later look.
      document.getElementById("newest").textContent = error.message;
    }
    await new Promise((done) => setTimeout(done, LOOK_MS));
  }
  shown.hidden = true;
}

/** The files that stood still and are not sent as they are now. */
function whole(files, seen) {
  return files.filter(({ file, path }) => {
    const before = seen.get(path);
    const same = before && before.size === file.size && before.changed === file.lastModified;
    const now = same ? before : { size: file.size, changed: file.lastModified, still: -1, sent: false };
    now.still += 1;
    seen.set(path, now);
    return file.size > 0 && now.still >= STILL_LOOKS && !now.sent;
  });
}

/** While a folder is watched, what has just been found is said, and opened beside this page. */
function sayWhatIsNew(before) {
  const shown = document.getElementById("watching");
  if (!shown || shown.hidden) return;
  const fresh = [...grades()].filter(([cable, says]) => before.get(cable) !== says);
  if (fresh.length) document.getElementById("newest").textContent = fresh.map(([cable, says]) => `${cable}: ${says}`).join("; ");
  for (const row of document.querySelectorAll("tbody tr[data-cable]")) row.toggleAttribute("data-new", fresh.some(([cable]) => cable === row.dataset.cable));
  for (const form of document.querySelectorAll("form.open")) form.target = "_blank";
}
