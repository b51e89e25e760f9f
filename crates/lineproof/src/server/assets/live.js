// Forms that answer while one types: the server's own page is asked again and its answer takes the
// place of the old one. Without this script the form's button does the same.
const QUICK_MS = 150;
const PATIENT_MS = 900;

for (const form of document.querySelectorAll("form[data-live]")) live(form);

function live(form) {
  let timer = 0;
  let patience = 0;
  let asked = null;
  let shown = null;

  form.addEventListener("input", () => later(QUICK_MS, false));
  // Leaving a field is a change too: what a press of the mouse is on its way to must not be replaced.
  form.addEventListener("change", () => address(form) === shown || later(0, true));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    later(0, true);
  });

  function later(milliseconds, insist) {
    clearTimeout(timer);
    clearTimeout(patience);
    timer = setTimeout(() => ask(insist), milliseconds);
  }

  async function ask(insist) {
    asked?.abort();
    const mine = (asked = new AbortController());
    const url = address(form);
    try {
      const response = await fetch(url, { signal: mine.signal });
      const page = new DOMParser().parseFromString(await response.text(), "text/html");
      if (response.ok || insist) show(page, url);
      else wait(page, url);
    } catch (error) {
      if (error.name !== "AbortError") tell("The server does not answer. Is it still running?");
    }
  }

  // Half a number is no mistake yet: what is wrong is said when the typing stops.
  function wait(page, url) {
    document.getElementById("answer").dataset.old = "yes";
    patience = setTimeout(() => show(page, url), PATIENT_MS);
  }

  function show(page, url) {
    shown = url;
    history.replaceState(null, "", url);
    for (const part of document.querySelectorAll("[data-part]")) {
      const fresh = page.querySelector(`[data-part="${part.dataset.part}"]`);
      if (fresh) part.replaceChildren(...fresh.childNodes);
      delete part.dataset.old;
    }
    for (const field of form.querySelectorAll("[data-field]")) mark(field, page);
  }

  // The field itself stays, with its cursor; only what is said about it changes.
  function mark(field, page) {
    const fresh = page.querySelector(`[data-field="${field.dataset.field}"]`);
    const [input, other] = [field, fresh].map((f) => f?.querySelector("input, select"));
    if (!input || !other) return;
    field.querySelector(".wrong")?.remove();
    const wrong = fresh.querySelector(".wrong");
    if (wrong) input.after(wrong);
    for (const name of ["aria-invalid", "aria-describedby"]) {
      const value = other.getAttribute(name);
      if (value === null) input.removeAttribute(name);
      else input.setAttribute(name, value);
    }
  }
}

function address(form) {
  const query = new URLSearchParams();
  for (const [name, value] of new FormData(form)) if (value.trim()) query.append(name, value);
  return `${form.getAttribute("action")}?${query}`;
}

function tell(text) {
  const said = document.createElement("p");
  said.className = "refused";
  said.textContent = text;
  document.getElementById("answer").replaceChildren(said);
}
