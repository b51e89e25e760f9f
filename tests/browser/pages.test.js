// The pages besides the assay as a person uses them.

import assert from "node:assert/strict";
import { cpSync, mkdtempSync, readFileSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import { after, before, test } from "node:test";

import { Bench, DESKTOP, PHONE, dropFolder, example, found, overflows, violations } from "./bench.js";

let bench;
before(async () => {
  bench = await Bench.start();
  await bench.shelve("stairs-dented", "stairs-1");
  await bench.shelve("lamp-room-50", "lamp-1");
});
after(async () => bench.stop());

const at = (address, options) => bench.page({ ...options, address });

test("a plan appears while one types, and half a number is no mistake", async () => {
  const page = await at("/plan");
  await page.getByLabel("Length", { exact: true }).pressSequentially("12m", { delay: 40 });
  await page.getByRole("table", { name: "Settings" }).waitFor();
  assert.equal(await page.locator(".wrong").count(), 0);
  assert.match(page.url(), /length=12m/);
  await page.getByLabel("Length", { exact: true }).fill("12");
  await page.locator("#length-error", { hasText: "12ft" }).waitFor();
  assert.equal(await page.getByLabel("Length", { exact: true }).inputValue(), "12");
  assert.equal(await page.evaluate(() => document.activeElement.id), "length", "the cursor stays");
  await page.getByLabel("Length", { exact: true }).fill("12,5m");
  await page.locator("#length-error").waitFor({ state: "detached" });
  await page.reload();
  assert.equal(await page.getByLabel("Length", { exact: true }).inputValue(), "12,5m");
  assert.deepEqual(page.faults.filter((f) => !/422/.test(f)), []);
});

test("a cable is found on the shelf, noted on, retired and taken back", async () => {
  const page = await at("/shelf");
  await page.getByLabel("Tag, description or place").fill("stairs");
  await page.getByText("1 cable", { exact: true }).waitFor();
  // a hand presses a key of the mouse for a while; the field is left meanwhile
  await page.getByRole("link", { name: "stairs-1" }).click({ delay: 150 });
  await page.getByLabel("For next year").fill("dented by the third step");
  await page.getByRole("button", { name: "Save the note" }).click();
  await page.getByText("The note is saved.").waitFor();
  await page.getByRole("button", { name: "Retire it" }).click();
  await page.getByText(/^Retired/).waitFor();
  await page.getByRole("button", { name: "Take it back into use" }).click();
  await page.getByText("The cable is in use again.").waitFor();
});

test("two cables that are ticked are compared", async () => {
  const page = await at("/shelf");
  await page.getByLabel("Tick stairs-1").check();
  await page.getByLabel("Tick lamp-1").check();
  await page.getByRole("button", { name: "Compare the two ticked cables" }).click();
  await page.getByRole("table", { name: /Side by side/ }).waitFor();
});

test("cables that are ticked get labels on one sheet, to print", async () => {
  const page = await at("/shelf");
  await page.getByLabel("Tick stairs-1").check();
  await page.getByLabel("Tick lamp-1").check();
  await page.getByRole("button", { name: "Labels for the ticked cables" }).click();
  await page.getByText("2 labels on 1 sheet").waitFor();
  await page.getByLabel("Or one label to a page, for a label printer").fill("62x29mm");
  await page.getByText("2 labels on 2 sheets").waitFor();
  await page.getByLabel("Or one label to a page, for a label printer").fill("9x9mm");
  await page.getByText("choose larger labels").waitFor();
  await page.getByLabel("Or one label to a page, for a label printer").fill("");
  await page.getByText("2 labels on 1 sheet").waitFor();
  await page.getByRole("link", { name: "Print" }).click();
  assert.deepEqual(await page.locator("svg text", { hasText: /^(stairs|lamp)-1$/ }).allTextContents(), ["lamp-1", "stairs-1"]);
});

test("without scripts the button answers", async () => {
  const page = await at("/readings", { javaScriptEnabled: false });
  await page.getByLabel("Resistance at the quarter wave").fill("111ohm");
  await page.getByRole("button", { name: "Compute" }).click();
  assert.match(await page.locator("#answer .answer").innerText(), /ohm/);
});

/** A folder with a folder for each of these examples, and a file that is no sweep. */
function boxOf(...cables) {
  const folder = mkdtempSync(path.join(tmpdir(), "lineproof-box-"));
  for (const cable of cables) cpSync(example(cable), path.join(folder, cable), { recursive: true });
  cpSync(example("README.md"), path.join(folder, "notes.md"));
  return folder;
}

test("a folder that is dropped is sorted, and one of its cables opened and kept", async () => {
  const page = await at("/sort");
  await dropFolder(page, "#drop", boxOf("drawer-mislabelled", "lamp-room-50", "harbour-75"));
  await page.getByText("11 files ready.").waitFor();
  await page.getByLabel("Impedance of the system").fill("50");
  await page.getByRole("button", { name: "Sort" }).click();
  await page.getByRole("link", { name: "Table for a spreadsheet (CSV)" }).waitFor();
  await page.locator("progress").waitFor({ state: "detached" });
  const rows = await page.locator("tbody th").allInnerTexts();
  assert.deepEqual(rows.toSorted(), ["drawer-mislabelled", "harbour-75", "lamp-room-50"]);
  assert.equal(rows.at(-1), "lamp-room-50", "the good one comes last");
  assert.deepEqual(await violations(page), []);
  await page.getByRole("button", { name: "lamp-room-50" }).click();
  assert.match(await found(page), /ohm/);
  assert.equal(await page.getByLabel("Tag of the cable").inputValue(), "lamp-room-50");
  await page.getByRole("button", { name: "Keep", exact: true }).click();
  await page.getByText("Stored under lamp-room-50, a new cable.").waitFor();
  assert.deepEqual(page.faults, []);
});

test("a folder is watched: cables appear as their sweeps arrive, half-written files are waited for", async () => {
  const folder = mkdtempSync(path.join(tmpdir(), "lineproof-card-"));
  const page = await at("/sort");
  await dropFolder(page, "#drop", folder);
  await page.getByText("0 files ready.").waitFor();
  await page.getByLabel("Watch the folder").check();
  await page.getByRole("button", { name: "Sort" }).click();
  await page.getByRole("heading", { name: "Watching the folder" }).waitFor();
  assert.equal(await page.evaluate(() => document.activeElement.id), "watching-head", "a screen reader is there");
  const sweep = readFileSync(example("lamp-room-50/open.s1p"));
  const half = sweep.subarray(0, sweep.length / 2);
  writeFileSync(path.join(folder, "m1-open.s1p"), half);
  await page.waitForTimeout(800);
  writeFileSync(path.join(folder, "m1-open.s1p"), sweep);
  await page.locator('tr[data-cable="m1"]').waitFor();
  assert.doesNotMatch(await page.locator('tr[data-cable="m1"]').getAttribute("data-says"), /undetermined/, "no half file was taken");
  await page.locator("#newest", { hasText: "m1: " }).waitFor();
  cpSync(example("harbour-75"), path.join(folder, "m2"), { recursive: true });
  await page.locator('tr[data-cable="m2"]').waitFor();
  await page.getByRole("heading", { name: "Box of 2 cables" }).waitFor();
  assert.deepEqual(await violations(page), []);
  const [opened] = await Promise.all([page.context().waitForEvent("page"), page.getByRole("button", { name: "m2" }).click()]);
  assert.match(await found(opened), /ohm/);
  await page.getByRole("button", { name: "Stop watching" }).click();
  await page.getByRole("heading", { name: "Watching the folder" }).waitFor({ state: "hidden" });
  assert.deepEqual(page.faults, []);
});

test("a large box is sent in parts", async () => {
  const page = await at("/sort");
  const sweep = readFileSync(example("lamp-room-50/open.s1p"));
  // Nine megabytes, most of them a comment.
  const buffer = Buffer.concat([sweep, Buffer.from(`\n!${"x".repeat(3 << 20)}\n`)]);
  const files = [1, 2, 3].map((n) => ({ name: `cable${n}-open.s1p`, mimeType: "text/plain", buffer }));
  const photo = { name: "photo.jpg", mimeType: "image/jpeg", buffer: Buffer.alloc(40 << 20) };
  await page.locator("#files").setInputFiles([...files, photo]);
  const sent = [];
  page.on("request", (request) => request.method() === "POST" && sent.push(new URL(request.url()).pathname.replace(/[0-9a-f]{32}/, "ID")));
  await page.getByRole("button", { name: "Sort" }).click();
  await page.getByRole("heading", { name: "Box of 3 cables" }).waitFor();
  await page.locator("progress").waitFor({ state: "detached" });
  assert.equal(await page.locator("tbody tr").count(), 3);
  assert.deepEqual(sent, ["/api/sort", "/api/sort/ID/files"]);
  await page.getByText("1 file was skipped").waitFor();
});

test("a box that is stopped keeps what is done", async () => {
  const page = await at("/sort");
  const sweep = readFileSync(example("harbour-75/open.s1p"));
  const files = Array.from({ length: 60 }, (_, n) => ({ name: `cable${n}-open.s1p`, mimeType: "text/plain", buffer: sweep }));
  await page.locator("#files").setInputFiles(files);
  await page.getByRole("button", { name: "Sort" }).click();
  await page.getByRole("button", { name: "Stop" }).click();
  await page.getByText(/^Stopped after \d+ of 60 cables/).waitFor();
});

const ADDRESSES = [
  "/shelf",
  "/shelf/stairs-1",
  "/sort",
  "/labels?cable=stairs-1&cable=lamp-1",
  "/compare?one=stairs-1&two=lamp-1",
  "/plan?length=12m",
  "/plan?length=12",
  "/readings?quarter-wave-resistance=111ohm&load=50ohm",
  "/use?type=RG-213&frequency=145MHz&run=20m&power=50W&swr=2",
  "/cut?piece=transformer&type=RG-59B/U&frequency=14.1MHz&from=50&to=100",
  "/cut?piece=stub",
  "/types?ohms=75",
  "/type/RG-59B%2FU",
  "/types/seen?seen-impedance=74.3&seen-velocity-factor=0.66",
];

for (const [name, options] of Object.entries({
  phone: { viewport: PHONE },
  "wide screen": { viewport: DESKTOP },
  "dark phone": { viewport: PHONE, colorScheme: "dark" },
})) {
  test(`nothing sticks out and axe finds nothing on any page: ${name}`, async () => {
    const page = await bench.page(options);
    for (const address of ADDRESSES) {
      await page.goto(bench.origin + address);
      await page.evaluate(() => document.querySelectorAll("details").forEach((details) => (details.open = true)));
      assert.deepEqual(await overflows(page), [], address);
      assert.deepEqual(await violations(page), [], address);
    }
  });
}

test("no request has left the origin", () => assert.deepEqual(bench.foreign, []));
