// Pictures of each page for people to look at: desktop, phone, dark. Usage: npm run screenshots [FOLDER]

import { mkdirSync } from "node:fs";
import path from "node:path";

import { Bench, DESKTOP, PHONE, charts, dropFolder, example, found } from "./bench.js";

const folder = process.argv[2] ?? "screenshots";
const LOOKS = {
  desktop: { viewport: DESKTOP },
  phone: { viewport: PHONE, deviceScaleFactor: 2 },
  dark: { viewport: DESKTOP, colorScheme: "dark" },
};

/** A page for each entry of the navigation, and states worth looking at: name and how to get there. */
const PAGES = {
  first: async () => {},
  assay: async (page) => {
    await page.getByRole("button", { name: "Cable from the stairs" }).click();
    await found(page);
    await charts(page).catch(() => {});
    await page.locator("button[data-event='0']").click();
  },
  good: async (page) => {
    await page.getByRole("button", { name: "Lamp-room jumper" }).click();
    await found(page);
    await charts(page).catch(() => {});
    await page.evaluate(() => document.querySelectorAll("details").forEach((details) => (details.open = true)));
  },
  box: async (page) => {
    await page.goto(`${bench.origin}/sort`);
    await page.getByLabel("Impedance of the system").fill("50");
    await dropFolder(page, "#drop", example("."));
    await page.getByText(/files ready/).waitFor();
    await page.getByLabel("Watch the folder").check();
    await page.getByRole("button", { name: "Sort" }).click();
    await page.locator("tr[data-new]").first().waitFor();
    await page.locator("progress").waitFor({ state: "detached" });
  },
  other: async (page) => {
    await page.getByRole("button", { name: "Lamp-room jumper" }).click();
    await found(page);
    await page.evaluate(() => document.querySelectorAll(".stand details").forEach((details) => (details.open = true)));
    const row = page.getByRole("group", { name: "load.s1p" });
    await row.getByText("another known part").click();
    await row.locator(".wrong", { hasText: "name the part" }).waitFor();
  },
  wrong: async (page) => {
    await page.setInputFiles("#files", { name: "short.s1p", mimeType: "text/plain", buffer: Buffer.from("# GHz S MA R 50\n1.2 0.94 -31\n1.3 0.94 -31.x2\n") });
    await page.locator("#result[data-stage]").waitFor();
    await page.getByLabel("Length by tape").fill("2.4");
    await page.locator("#length-wrong", { hasText: "2.4ft" }).waitFor();
  },
};

/** Pages that one address makes. */
const ADDRESSES = {
  shelf: "/shelf",
  sort: "/sort",
  labels: "/labels?cable=stairs-1&cable=lamp-1&skip=1",
  cable: "/shelf/stairs-1",
  compare: "/compare?one=stairs-1&two=lamp-1",
  plan: "/plan?length=12m&frequency=145MHz",
  "plan-wrong": "/plan?length=12",
  readings: "/readings?quarter-wave-resistance=111ohm&load=50ohm&length=2,4m&quarter-wave-at=20,6MHz",
  use: "/use?type=RG-213&frequency=145MHz&run=20m&power=50W&swr=2",
  cut: "/cut?piece=stub&type=RG-213&frequency=7.1MHz&end=short&notch=yes",
  types: "/types?ohms=75",
  type: "/type/RG-59B%2FU",
  seen: "/types/seen?seen-impedance=74,3&seen-velocity-factor=0,66&seen-diameter=6.1mm",
};
for (const [name, address] of Object.entries(ADDRESSES)) PAGES[name] = async (page) => page.goto(bench.origin + address);

mkdirSync(folder, { recursive: true });
const bench = await Bench.start();
await bench.shelve("stairs-dented", "stairs-1");
await bench.shelve("lamp-room-50", "lamp-1");
for (const [look, options] of Object.entries(LOOKS)) {
  for (const [name, reach] of Object.entries(PAGES)) {
    const page = await bench.page(options);
    await reach(page);
    await page.waitForTimeout(200);
    await page.screenshot({ path: path.join(folder, `${name}-${look}.png`), fullPage: true });
    await page.context().close();
  }
}
await bench.stop();
