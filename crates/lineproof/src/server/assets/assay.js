// The assay page follows by itself: sweeps that are dropped and facts that are typed go to the API,
// progress comes back as a stream, and what changed of the page is put in place.

const form = document.getElementById("form");
const trouble = document.getElementById("trouble");
const progress = document.createElement("div");
const LATE_MS = 120; // a good cable is found before: no word about progress, no other work for the browser
let id = form.dataset.id;
let arrived = Boolean(id); // whether the address is that of the cable
let upload = null;
let sent = null; // facts as they were said last
let run = null; // what is followed: its progress, and the request that waits for its end

// ---------------------------------------------------------------- talking to the API

async function call(method, path, body, signal) {
  const json = body !== undefined && !(body instanceof FormData);
  const response = await fetch(path, {
    method,
    signal,
    headers: json ? { "Content-Type": "application/json" } : {},
    body: json ? JSON.stringify(body) : body,
  });
  const text = await response.text();
  const answer = text ? JSON.parse(text) : null;
  if (!response.ok && !(answer && answer.id)) throw answer ?? { error: response.statusText };
  return answer;
}

function say(problem) {
  trouble.replaceChildren();
  if (!problem) return;
  const box = document.createElement("div");
  box.className = "refused";
  for (const text of [problem.error ?? "the server can't be reached: is it still running?", problem.help]) {
    if (text) box.append(Object.assign(document.createElement("p"), { textContent: text }));
  }
  trouble.append(box);
}

// ---------------------------------------------------------------- what was said

function facts() {
  const said = { far_ends: [], parts: [] };
  for (const row of form.querySelectorAll(".sweep")) {
    said.far_ends.push(row.dataset.said);
    said.parts.push(row.querySelector(".part input").value);
  }
  for (const input of inputs()) if (!input.closest(".sweep")) said[input.name] = input.value;
  return said;
}

const typed = () => Object.fromEntries(inputs().map((input) => [input.name, input.value]));

/** What is typed or chosen; the keys that take a file's text are none of it. */
const inputs = () => [...form.querySelectorAll(".field :is(input, select, textarea):not([type=file])")];

// What is typed and not yet said is kept by the browser, so that a page that is loaded again has it.
const memory = () => `lineproof-typed-${id ?? "new"}`;

function remember() {
  sessionStorage.setItem(memory(), JSON.stringify(typed()));
}

function recall() {
  const kept = JSON.parse(sessionStorage.getItem(memory()) ?? "{}");
  const changed = inputs().filter((i) => i.name in kept && i.value !== kept[i.name]);
  for (const input of changed) {
    input.value = kept[input.name];
    input.closest("details")?.setAttribute("open", "");
  }
  if (changed.length) change();
}

function formOf(files) {
  const body = new FormData();
  for (const file of files) body.append("files", file, file.name);
  if (!id) {
    for (const [name, text] of Object.entries(typed())) body.append(name, text);
  }
  return body;
}

async function drop(files) {
  if (!files.length) return;
  say(null);
  upload?.abort();
  upload = new AbortController();
  const path = id ? `/api/assays/${id}/files` : "/api/assays";
  busy("Sending the sweeps");
  try {
    const answer = await call("POST", `${path}?wait=false`, formOf(files), upload.signal);
    if (!id) {
      sessionStorage.removeItem(memory());
      id = answer.id;
      form.dataset.id = id;
    }
    follow();
  } catch (problem) {
    idle();
    if (problem.name !== "AbortError") say(problem);
  }
}

/** The page becomes that of its cable, once the finding is there or lets itself be waited for. */
function arrive() {
  if (arrived || !id) return;
  arrived = true;
  form.action = `/assay/${id}`;
  history.pushState(null, "", `/assay/${id}`);
  document.cookie = "lineproof-met=1; Path=/; Max-Age=31536000; SameSite=Strict";
  invite();
}

/** Once there is a cable, more sweeps are added to it, and another one begins anew. */
function invite() {
  form.querySelector(".call").textContent = "Drop more sweeps of this cable here";
  const other = Object.assign(document.createElement("a"), { href: "/", textContent: "Another cable" });
  other.className = "button";
  form.querySelector(".drop .actions").append(other);
}

async function change() {
  if (!id) return;
  say(null);
  sent = JSON.stringify(facts());
  busy("Working");
  try {
    await call("PUT", `/api/assays/${id}/facts?wait=false`, facts());
    if (!later) sessionStorage.removeItem(memory());
    follow();
  } catch (problem) {
    sent = null;
    idle();
    say(problem);
  }
}

// ---------------------------------------------------------------- progress

progress.id = "progress";
progress.setAttribute("role", "status");
progress.append(
  document.createElement("span"),
  Object.assign(document.createElement("button"), { type: "button", id: "cancel", textContent: "Cancel", onclick: cancel }),
);
let late = null;

/** Says what is going on; to the eye only if it is still going on in a while. */
function busy(text) {
  const result = document.getElementById("result") ?? document.querySelector(".beside");
  result.setAttribute("aria-busy", "true");
  progress.firstChild.textContent = text;
  late ??= setTimeout(() => {
    document.querySelector(".bench").before(progress);
    if (run) attend();
  }, LATE_MS);
}

/** A run that takes long: the page is that of its cable already, and tells how far it is. */
function attend() {
  arrive();
  stream();
}

function idle() {
  clearTimeout(late);
  late = null;
  run?.stop();
  run = null;
  progress.remove();
  document.querySelector("[aria-busy]")?.removeAttribute("aria-busy");
}

function cancel() {
  upload?.abort();
  if (id) call("DELETE", `/api/assays/${id}/run`).catch(say);
}

function words({ stage, step, seconds, waiting }) {
  if (stage === "waiting") return waiting > 1 ? `Waiting: ${waiting} cables before this one` : "Waiting";
  return `${step === "seek-faults" ? "Looking for faults" : "Working"}, ${seconds.toFixed(1)} s`;
}

class Run {
  waits = new AbortController();
  events = null;
  stop() {
    this.waits.abort();
    this.events?.close();
  }
}

/** Waits for the end of the run. */
async function follow() {
  run?.stop();
  const mine = (run = new Run());
  busy("Working");
  if (progress.isConnected) attend();
  const parts = await fetchPart("?wait=true", mine.waits.signal);
  if (run !== mine) return;
  if (parts && !isOver(parts)) return follow();
  idle();
  if (parts) show(parts);
}

/** What of the page changes with the finding; `null` if there is none, which is said. */
async function fetchPart(query, signal) {
  try {
    const response = await fetch(`/assay/${id}/part${query}`, { signal });
    if (!response.ok) throw await response.json();
    return new DOMParser().parseFromString(await response.text(), "text/html");
  } catch (problem) {
    if (problem.name !== "AbortError") say(problem);
    return null;
  }
}

const isOver = (parts) => !["waiting", "working"].includes(parts.getElementById("result").dataset.stage);

/** Long work tells how far it is. */
function stream() {
  const events = new EventSource(`/api/assays/${id}/progress`);
  run.events = events;
  let shown = "";
  events.addEventListener("progress", (event) => {
    const now = JSON.parse(event.data);
    if (now.stage !== "waiting" && now.stage !== "working") return events.close();
    progress.firstChild.textContent = words(now);
    if (now.step && now.step !== "read" && now.step !== shown) {
      shown = now.step;
      preview();
    }
  });
  events.onerror = () => events.close();
}

// ---------------------------------------------------------------- putting the answer in place

/** The sweeps of a first assay as they were read, until there is a finding. */
async function preview() {
  const mine = run;
  if (document.querySelector(".sentence")) return;
  const parts = await fetchPart("", mine.waits.signal);
  if (!parts || run !== mine || isOver(parts)) return;
  const result = parts.getElementById("result");
  result.setAttribute("aria-busy", "true");
  (document.getElementById("result") ?? document.querySelector(".beside")).replaceWith(result);
}

function show(parts) {
  const result = parts.getElementById("result");
  if (mark(JSON.parse(result.dataset.notUnderstood ?? "[]")) && document.querySelector(".sentence")) {
    // What is being typed is half done: the finding of before stays until it is whole.
    document.getElementById("result").classList.add("stale");
    return;
  }
  const open = new Set([...document.querySelectorAll("details[open]")].map((d) => d.id));
  const { id: focus, selectionStart, selectionEnd } = document.activeElement ?? {};
  const sweeps = parts.getElementById("sweeps");
  carry(document.getElementById("sweeps"), sweeps);
  const there = document.getElementById("result") ?? document.querySelector(".beside");
  there.replaceWith(result);
  for (const details of result.querySelectorAll("details")) details.open ||= open.has(details.id);
  const focused = focus && document.getElementById(focus);
  focused?.focus?.({ preventScroll: true });
  if (focused?.matches?.(".part input")) focused.setSelectionRange(selectionStart, selectionEnd);
  wireAll();
  arrive();
  announce(result);
}

/** Puts new sweeps in the place of old ones; what was typed meanwhile and what was opened stay. */
function carry(old, sweeps) {
  for (const input of old.querySelectorAll(".part input")) {
    const there = sweeps.querySelector(`#${input.id}`);
    if (there) there.value = input.value;
  }
  for (const details of old.querySelectorAll("details[open]")) sweeps.querySelector(`#${details.id}`)?.setAttribute("open", "");
  old.replaceWith(sweeps);
}

/** What was typed and not understood is said beside its field; whether there is any. */
function mark(fields) {
  const wrong = new Map(fields.map((f) => [f.field, f.error]));
  for (const field of form.querySelectorAll(".field")) {
    const error = wrong.get(field.dataset.field);
    const input = field.querySelector("input, select, textarea");
    field.querySelector(".wrong").textContent = error ?? "";
    input.toggleAttribute("aria-invalid", false);
    if (error) input.setAttribute("aria-invalid", "true");
  }
  return wrong.size > 0;
}

/** Says the sentence to those who do not see it, and brings it into view on a small screen. */
function announce(result) {
  const sentence = result.querySelector(".sentence, .refused");
  document.getElementById("said").textContent = sentence?.textContent ?? "";
  const { top } = result.getBoundingClientRect();
  if (top > window.innerHeight * 0.8 && !form.contains(document.activeElement)) {
    result.scrollIntoView({ block: "start" });
  }
}

/** Does it when what is on the page is on the screen. */
const painted = (then) => requestAnimationFrame(() => setTimeout(then));

/** Wires what came new onto the page. */
function wireAll() {
  for (const row of form.querySelectorAll(".sweep")) wire(row);
  form.querySelector(".keys")?.removeAttribute("hidden");
  document.getElementById("again")?.addEventListener("click", change);
  document.getElementById("keep")?.addEventListener("submit", keep);
  const pictures = document.getElementById("pictures");
  if (pictures) painted(() => import(pictures.dataset.script).then((module) => module.show(pictures)).catch(() => {}));
}

function wire(row) {
  row.addEventListener("change", (event) => {
    if (event.target.type !== "radio") return;
    row.dataset.said = event.target.value;
    change();
  });
  row.addEventListener("keydown", (event) => {
    const ended = { o: "open", s: "short", l: "load", t: "through" }[event.key.toLowerCase()];
    if (!ended || event.target.type === "text" || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    const radio = row.querySelector(`input[value="${ended}"]`);
    radio.focus();
    radio.checked = true;
    radio.dispatchEvent(new Event("change", { bubbles: true }));
  });
}

async function keep(event) {
  event.preventDefault();
  const kept = document.getElementById("kept");
  const button = event.target.querySelector("button");
  button.disabled = true;
  kept.className = "";
  try {
    const answer = await call("POST", `/api/assays/${id}/keep`, Object.fromEntries(new FormData(event.target)));
    const tag = encodeURIComponent(answer.tag);
    const next = { "Print its label": `/labels?cable=${tag}`, "Open it on the shelf": `/shelf/${tag}` };
    const links = Object.entries(next).map(([textContent, href]) => Object.assign(document.createElement("a"), { textContent, href }));
    kept.replaceChildren(`Stored under ${answer.tag}${answer.new_cable ? ", a new cable" : ""}. `, links[0], " ", links[1]);
  } catch (problem) {
    button.disabled = false;
    kept.className = "wrong";
    kept.textContent = [problem.error, problem.help].filter(Boolean).join("; ");
  }
}

// ---------------------------------------------------------------- files and folders

const SWEEP = /\.(s1p|s2p|ts|csv|txt|tsv)$/i;

async function filesOf(transfer) {
  const entries = [...transfer.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
  if (!entries.some((entry) => entry.isDirectory)) return [...transfer.files];
  const found = [];
  for (const entry of entries) await gather(entry, found, entry.isFile);
  return found;
}

async function gather(entry, found, named) {
  if (entry.isFile) {
    if (named || SWEEP.test(entry.name)) found.push(await new Promise((ok, no) => entry.file(ok, no)));
    return;
  }
  const reader = entry.createReader();
  for (;;) {
    const some = await new Promise((ok, no) => reader.readEntries(ok, no));
    if (!some.length) return;
    for (const inner of some) await gather(inner, found, false);
  }
}

function wireDrop() {
  const zone = document.getElementById("drop");
  const over = (is) => zone.classList.toggle("over", is);
  addEventListener("dragover", (event) => (event.preventDefault(), over(true)));
  addEventListener("dragleave", (event) => event.relatedTarget || over(false));
  addEventListener("drop", async (event) => {
    event.preventDefault();
    over(false);
    drop(await filesOf(event.dataTransfer));
  });
  const chosen = (input, all) => {
    const files = [...input.files].filter((file) => all || SWEEP.test(file.name));
    if (input.files.length && !files.length) say({ error: "there is no sweep in this folder", help: "expected .s1p, .s2p or delimited text" });
    drop(files);
    input.value = "";
  };
  document.getElementById("files").addEventListener("change", (e) => chosen(e.target, true));
  document.getElementById("folder").addEventListener("change", (e) => chosen(e.target, false));
  if ("webkitdirectory" in document.createElement("input")) document.getElementById("folder-label").hidden = false;
}

/** A file's text goes where it could have been typed. */
function wireTexts() {
  for (const input of form.querySelectorAll("[data-into]")) {
    input.closest("label").hidden = false;
    input.addEventListener("change", async () => {
      const [file] = input.files;
      input.value = "";
      if (!file) return;
      document.getElementById(input.dataset.into).value = await file.text();
      remember();
      change();
    });
  }
}

// ---------------------------------------------------------------- begin

const said = Object.assign(document.createElement("p"), { id: "said", className: "hush" });
said.setAttribute("aria-live", "polite");
document.getElementById("main").append(said);
wireDrop();
wireTexts();
form.addEventListener("submit", (event) => {
  event.preventDefault();
  change();
});
let later = null;
const soon = (run) => {
  clearTimeout(later);
  later = run;
};
form.addEventListener("input", (event) => {
  if (!event.target.closest(".field")) return;
  remember();
  soon(setTimeout(() => (soon(null), change()), 600));
});
form.addEventListener("change", (event) => {
  if (!event.target.closest(".field") || event.target.type === "file") return;
  soon(null);
  // Leaving a field is a change too: what a press of the mouse is on its way to must not be replaced.
  if (JSON.stringify(facts()) !== sent) change();
});
recall();
addEventListener("popstate", () => location.reload());
// Going back and forth is quicker than this script at times.
if (location.pathname !== (id ? `/assay/${id}` : "/")) location.reload();
addEventListener("pageshow", (event) => event.persisted && location.reload());
wireAll();
const stage = document.getElementById("result")?.dataset.stage;
if (id && (stage === "waiting" || stage === "working")) follow();
