// A bench for browser tests: the real program on a port of the system's choice with a shelf of its
// own, and the system's Chromium without a network.

import { spawn } from "node:child_process";
import { once } from "node:events";
import { existsSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import path from "node:path";
import { createInterface } from "node:readline";
import { fileURLToPath } from "node:url";

import { chromium } from "playwright-core";

export const ROOT = fileURLToPath(new URL("../../", import.meta.url));
const PROGRAM = process.env.LINEPROOF ?? path.join(ROOT, "target/release/lineproof");
const BROWSER = process.env.CHROMIUM ?? ["/usr/bin/chromium", "/usr/bin/chromium-browser"].find(existsSync);
const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** Machines that test are busy at times. */
const PATIENCE_MS = 90_000;

export const DESKTOP = { width: 1600, height: 1000 };
export const PHONE = { width: 360, height: 740 };

export const example = (name) => path.join(ROOT, "examples", name);

export class Bench {
  static async start() {
    const bench = new Bench();
    bench.folder = mkdtempSync(path.join(tmpdir(), "lineproof-browser-"));
    bench.server = spawn(PROGRAM, ["serve", "--port", "0", "--no-browser", "--shelf", path.join(bench.folder, "shelf.db")], {
      stdio: ["ignore", "pipe", "ignore"],
    });
    const [line] = await once(createInterface({ input: bench.server.stdout }), "line");
    bench.origin = line.replace(/\/$/, "");
    bench.browser = await chromium.launch({ executablePath: BROWSER, args: ["--no-sandbox", "--disable-background-networking"] });
    bench.foreign = [];
    return bench;
  }

  /** The id of an example's assay, by the API; over unless it is not to be waited for. */
  async assay(name, facts = {}, wait = true) {
    const body = new FormData();
    for (const end of ["open", "load"]) body.append("files", new File([readFileSync(example(`${name}/${end}.s1p`))], `${end}.s1p`));
    for (const [fact, text] of Object.entries(facts)) body.append(fact, text);
    const { id } = await (await fetch(`${this.origin}/api/assays?wait=${wait}`, { method: "POST", body })).json();
    return id;
  }

  /** Keeps an example on the shelf, by the API. */
  async shelve(name, tag) {
    const id = await this.assay(name);
    const keep = { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ tag }) };
    const kept = await fetch(`${this.origin}/api/assays/${id}/keep`, keep);
    if (!kept.ok) throw new Error(await kept.text());
  }

  /** A page of its own; what it asks of other origins and what goes wrong in its scripts is noted. */
  async page({ viewport = DESKTOP, colorScheme = "light", address = "/", ...more } = {}) {
    const context = await this.browser.newContext({ viewport, colorScheme, reducedMotion: "reduce", acceptDownloads: true, ...more });
    const page = await context.newPage();
    page.setDefaultTimeout(PATIENCE_MS);
    page.faults = [];
    page.on("pageerror", (error) => page.faults.push(String(error)));
    page.on("console", (message) => message.type() === "error" && page.faults.push(message.text()));
    page.on("request", (request) => {
      const url = request.url();
      if (!/^(data|blob):/.test(url) && !url.startsWith(this.origin)) this.foreign.push(url);
    });
    await page.goto(this.origin + address);
    return page;
  }

  async stop() {
    await this.browser?.close();
    this.server?.kill("SIGINT");
    rmSync(this.folder, { recursive: true, force: true });
  }
}

/** Drops files and waits for the finding. */
export async function drop(page, ...names) {
  await page.setInputFiles("#files", names.map((name) => (path.isAbsolute(name) ? name : example(name))));
}

/** Drops a folder of the disk with the mouse, as the desktop does. */
export async function dropFolder(page, selector, folder) {
  const box = await page.locator(selector).boundingBox();
  const [x, y] = [box.x + box.width / 2, box.y + Math.min(20, box.height / 2)];
  const driver = await page.context().newCDPSession(page);
  const data = { items: [], files: [folder], dragOperationsMask: 1 };
  for (const type of ["dragEnter", "dragOver", "drop"]) await driver.send("Input.dispatchDragEvent", { type, x, y, data });
}

export async function found(page) {
  await page.locator('#result[data-stage="done"] .sentence').waitFor();
  return page.locator(".sentence").innerText();
}

export async function charts(page) {
  await page.locator('[data-picture="return-loss"] .js-plotly-plot, [data-picture="return-loss"] .main-svg').first().waitFor();
}

/** What axe finds against WCAG 2.2 AA and good practice. */
export async function violations(page) {
  // The policy forbids scripts in the page; the driver evaluates past it.
  await page.evaluate(AXE);
  const result = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations"] }));
  return result.violations.map((v) => `${v.id}: ${v.help}: ${v.nodes.map((n) => n.html.slice(0, 160)).join(" | ")}`);
}

/** Whether the page must be pushed sideways. */
export async function overflows(page) {
  return page.evaluate(() => {
    const wide = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth <= wide) return [];
    return [...document.body.querySelectorAll("*")]
      .filter((e) => e.getBoundingClientRect().right > wide + 1)
      .map((e) => `${e.tagName}.${e.className}`)
      .slice(0, 8);
  });
}
