// The caller's side of lineproof_web.wasm: an assay in a page or in Node.
//
//   const lineproof = await Lineproof.start(bytesOfTheModule);
//   lineproof.addSweep("open.s1p", bytesOfTheFile, "open");
//   lineproof.addFact("length", "2.4m");
//   const finding = lineproof.assay();

const encoder = new TextEncoder();
const decoder = new TextDecoder();

export class Lineproof {
  #exports;

  /** The module from its bytes; it asks for nothing from outside. */
  static async start(bytes) {
    const lineproof = new Lineproof();
    const { instance } = await WebAssembly.instantiate(bytes, {});
    lineproof.#exports = instance.exports;
    return lineproof;
  }

  /** A sweep: name for messages, the file's bytes or text, and what was at the far end (`judge` if nobody knows). */
  addSweep(name, file, farEnd = "judge") {
    this.#asked(this.#exports.add_sweep(this.#handedIn(name), this.#handedIn(file), this.#handedIn(farEnd)));
  }

  /** A fact besides the sweeps, by the name of its option: `length`, `load-ohms`, `marked`, … */
  addFact(name, value) {
    this.#asked(this.#exports.add_fact(this.#handedIn(name), this.#handedIn(value)));
  }

  /** The finding of what was added. Nothing of that is left for the next, nor if this throws. */
  assay() {
    return JSON.parse(this.#asked(this.#exports.assay()));
  }

  /** Starts anew, whatever was added. */
  clear() {
    this.#exports.clear();
  }

  /** Where a text was put. Memory may move when it grows, so each view of it is made when it is needed. */
  #handedIn(text) {
    const bytes = typeof text === "string" ? encoder.encode(text) : text;
    const start = this.#exports.buffer(bytes.length) >>> 0;
    new Uint8Array(this.#exports.memory.buffer, start, bytes.length).set(bytes);
    return start;
  }

  /** The answer as text; a refusal is thrown. */
  #asked(status) {
    const { answer, answer_length, memory } = this.#exports;
    const text = decoder.decode(new Uint8Array(memory.buffer, answer() >>> 0, answer_length() >>> 0));
    if (status !== 0) throw new Error(text);
    return text;
  }
}
