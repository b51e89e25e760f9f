// The example sweeps through the core in WebAssembly, beside what the program says of the same files.
// Run by ./check. LINEPROOF is the program, LINEPROOF_WEB the module.

import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { existsSync, readFileSync, readdirSync } from "node:fs";
import path from "node:path";
import { before, test } from "node:test";
import { fileURLToPath } from "node:url";

import { Lineproof } from "./assay.mjs";

const ROOT = fileURLToPath(new URL("../", import.meta.url));
const TARGET = process.env.CARGO_TARGET_DIR ?? path.join(ROOT, "target");
const PROGRAM = process.env.LINEPROOF ?? path.join(TARGET, "release/lineproof");
const MODULE = process.env.LINEPROOF_WEB ?? path.join(TARGET, "web/wasm32-unknown-unknown/release/lineproof_web.wasm");

/** Sines, roots and Fourier transforms of the two differ in the last digits, and a fit stops where steps are small. */
const LARGEST_RELATIVE = 1e-6;

/** Explanations this far below the best, in ln evidence, are given up before their fits come to rest: RIVAL of the
    estimator. What both give up agrees. */
const GIVEN_UP = -30;
const isGivenUp = (at, value) => /\.explanations\.\d+\.ln_evidence$/.test(at) && value < GIVEN_UP;

// Whose impedance, delay and loss are not stated: the sweeps are of two cables, or the load was not screwed on.
const UNDETERMINED = ["slipway", "two-reels"];

const ENDS = ["open", "short", "load"];

/** What an example's notes say to state: `--length 2.4m` and so on. */
function facts(folder) {
  const notes = readFileSync(path.join(folder, "notes.md"), "utf8");
  return [...notes.matchAll(/--([a-z][a-z-]*) ([^ `]+)/g)].map(([, name, value]) => [name, value]);
}

/** Sweeps and facts of each example whose notes say what was known of it, and of the measured one. */
function examples() {
  const all = ["", "stories"].flatMap((group) => {
    const folder = path.join(ROOT, "examples", group);
    return readdirSync(folder).map((name) => path.join(folder, name));
  });
  const whole = (folder) => ["open.s1p", "load.s1p", "notes.md"].every((file) => existsSync(path.join(folder, file)));
  const cables = all.filter(whole).map((folder) => ({
    name: path.basename(folder),
    sweeps: ENDS.map((end) => [end, path.join(folder, `${end}.s1p`)]).filter(([, file]) => existsSync(file)),
    facts: facts(folder),
  }));
  const through = path.join(ROOT, "examples/real-10m/10m_cable.s2p");
  return [...cables, { name: "real-10m", sweeps: [["through", through]], facts: [["length", "10m"]] }];
}

function byProgram({ sweeps, facts }) {
  const options = [...sweeps, ...facts].flatMap(([name, value]) => [`--${name}`, value]);
  const { error, stdout, stderr } = spawnSync(PROGRAM, ["assay", "--json", ...options], { encoding: "utf8" });
  if (error) throw error;
  assert.ok(stdout, `the program found nothing: ${stderr}`);
  return JSON.parse(stdout);
}

function byModule(lineproof, { sweeps, facts }) {
  for (const [end, file] of sweeps) lineproof.addSweep(path.basename(file), readFileSync(file), end);
  for (const [name, value] of facts) lineproof.addFact(name, value);
  return lineproof.assay();
}

/** Where two values differ, a line each; `largest` becomes the largest relative difference of two numbers. */
function differences(program, web, at, largest) {
  if (isGivenUp(at, program) && isGivenUp(at, web)) return [];
  if (typeof program === "number" && typeof web === "number") {
    const relative = program === web ? 0 : Math.abs(web - program) / Math.max(Math.abs(program), Math.abs(web));
    if (relative > largest.relative) Object.assign(largest, { relative, at });
    const off = `off by ${relative.toExponential(1)}`;
    return relative <= LARGEST_RELATIVE ? [] : [`${at}: the program says ${program}, the module ${web}: ${off}`];
  }
  if (program && web && typeof program === "object" && typeof web === "object") {
    const keys = new Set([...Object.keys(program), ...Object.keys(web)]);
    return [...keys].flatMap((key) => differences(program[key], web[key], `${at}.${key}`, largest));
  }
  const [said, saidToo] = [program, web].map((value) => JSON.stringify(value));
  return program === web ? [] : [`${at}: the program says ${said}, the module ${saidToo}`];
}

let lineproof;
before(async () => (lineproof = await Lineproof.start(readFileSync(MODULE))));

for (const example of examples()) {
  test(`${example.name} as the program finds it`, (t) => {
    const started = performance.now();
    const program = byProgram(example);
    const between = performance.now();
    const web = byModule(lineproof, example);
    const ended = performance.now();
    const largest = { relative: 0, at: "none" };
    const different = differences(program, web, example.name, largest);
    t.diagnostic(`largest relative difference ${largest.relative.toExponential(1)} at ${largest.at}`);
    t.diagnostic(`program ${Math.round(between - started)} ms, module ${Math.round(ended - between)} ms`);
    const stated = Boolean(program.impedance && program.delay && program.loss?.length);
    assert.equal(stated, !UNDETERMINED.includes(example.name), "whether the program states impedance, delay and loss");
    assert.ok(different.length === 0, `more than ${LARGEST_RELATIVE} apart:\n${different.join("\n")}`);
  });
}

test("mistakes are refused in words, and the next assay is not touched by them", () => {
  const file = readFileSync(path.join(ROOT, "examples/harbour-75/open.s1p"));
  assert.throws(() => lineproof.addSweep("a.s1p", file, "opne"), /`a\.s1p`: unknown far end `opne`: expected open, /);
  assert.throws(() => lineproof.addSweep("b.s1p", "no sweep at all"), /cannot read `b\.s1p`: /);
  assert.throws(() => lineproof.addSweep("c.s1p", ""), /cannot read `c\.s1p`: /);
  assert.throws(() => lineproof.addFact("length", "2.4 parsecs"), /length: .*2\.4 parsecs/);
  assert.throws(() => lineproof.addFact("colour", "blue"), /unknown fact `colour`: expected length, /);
  assert.throws(() => lineproof.assay(), /no usable sweep is left/);
});

test("a buffer that was not given, or was handed in before, is refused", async () => {
  const { instance } = await WebAssembly.instantiate(readFileSync(MODULE), {});
  const { add_fact, answer, answer_length, buffer, memory } = instance.exports;
  const said = () => new TextDecoder().decode(new Uint8Array(memory.buffer, answer(), answer_length()));
  const name = buffer(0);
  assert.notEqual(buffer(0), name);
  assert.equal(add_fact(name, name), 1);
  assert.match(said(), /the fact's value: no buffer at \d+/);
  assert.equal(add_fact(12, name), 1);
  assert.match(said(), /the fact's name: no buffer at 12/);
});
