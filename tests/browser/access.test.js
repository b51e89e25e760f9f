// Who may talk to the server, as browsers and others do.

import assert from "node:assert/strict";
import http from "node:http";
import { after, before, test } from "node:test";

import { Bench } from "./bench.js";

let bench;
before(async () => (bench = await Bench.start()));
after(async () => bench.stop());

function status(method, path, headers) {
  const { hostname, port } = new URL(bench.origin);
  return new Promise((ok, no) => {
    http.request({ hostname, port, method, path, headers }, (answer) => ok((answer.resume(), answer.statusCode))).on("error", no).end();
  });
}

test("foreign names and origins are refused", async () => {
  assert.equal(await status("GET", "/", { Host: "evil.example" }), 421);
  assert.equal(await status("GET", "/", {}), 200);
  assert.equal(await status("POST", "/demo/stairs", { Origin: "http://evil.example" }), 403);
  assert.equal(await status("POST", "/demo/stairs", { Origin: bench.origin }), 303);
});

test("a page of another site in the same browser can't change or read anything", async () => {
  const context = await bench.browser.newContext();
  const page = await context.newPage();
  // The same machine at another port is another origin.
  const other = http.createServer((_, answer) => answer.setHeader("Content-Type", "text/html").end("<p>elsewhere"));
  await new Promise((ok) => other.listen(0, "127.0.0.1", ok));
  await page.goto(`http://127.0.0.1:${other.address().port}/`);
  const tried = await page.evaluate(async (origin) => {
    const answers = [];
    for (const [method, path] of [["GET", "/api/about"], ["POST", "/demo/stairs"]]) {
      answers.push(await fetch(origin + path, { method }).then((r) => r.status, () => "refused"));
      answers.push(await fetch(origin + path, { method, mode: "no-cors" }).then((r) => r.type, () => "refused"));
    }
    return answers;
  }, bench.origin);
  other.close();
  assert.deepEqual(tried.filter((t) => t !== "refused" && t !== "opaque"), []);
  assert.equal(tried[1], "refused", "not even as an opaque answer");
});
