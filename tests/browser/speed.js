// How long a drop takes to its finding, in the system's Chromium, beside what the API alone takes for
// the same sweeps: node speed.js [ROUNDS]. A browser context of its own for each drop, so nothing is
// cached.

import { performance } from "node:perf_hooks";

import { Bench, example } from "./bench.js";

const ROUNDS = Number(process.argv[2] ?? 12);
const REST_MS = 500; // nobody drops a sweep while the page is still coming
const CABLES = ["harbour-75", "lamp-room-50", "drawer-mislabelled", "stairs-dented"];

/** Notes when the sweeps came, and when the finding was first painted. */
function watch() {
  const clock = (window.clock = {});
  const painted = (name) => requestAnimationFrame(() => setTimeout(() => (clock[name] ??= performance.now())));
  addEventListener("change", (event) => event.target.id === "files" && (clock.came ??= performance.now()), true);
  new MutationObserver(() => {
    if (document.querySelector("#result .picture svg")) painted("sweeps");
    if (document.querySelector('#result[data-stage="done"] .sentence')) painted("finding");
  }).observe(document.documentElement, { childList: true, subtree: true });
}

const middle = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];
const told = (values) => {
  const [least, most] = [Math.min(...values), Math.max(...values)];
  return `${middle(values).toFixed(0)} (${least.toFixed(0)} to ${most.toFixed(0)})`;
};

const bench = await Bench.start();
try {
  console.log("ms, median (least to most)");
  for (const cable of CABLES) {
    const files = ["open", "load"].map((end) => example(`${cable}/${end}.s1p`));
    const [api, sweeps, finding] = [[], [], []];
    for (let round = 0; round < ROUNDS; round++) {
      const began = performance.now();
      await bench.assay(cable);
      api.push(performance.now() - began);

      const page = await bench.page();
      await page.evaluate(watch);
      await page.waitForTimeout(REST_MS);
      await page.setInputFiles("#files", files);
      await page.waitForFunction(() => window.clock.finding);
      const clock = await page.evaluate(() => window.clock);
      sweeps.push(clock.sweeps - clock.came);
      finding.push(clock.finding - clock.came);
      await page.context().close();
    }
    console.log(`${cable}: API alone ${told(api)}, something drawn ${told(sweeps)}, finding painted ${told(finding)}`);
  }
} finally {
  await bench.stop();
}
