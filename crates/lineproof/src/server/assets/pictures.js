// The pictures of a finding come to life: hover, zoom, a cursor in frequency, events everywhere. The
// server's own pictures stay until the chart library is there, and for good if it is not.

const METRES = 1;
const FEET = 0.3048;
const DASHES = ["solid", "dash", "dot", "longdash"];
let library = null;

/** Loads the library once; it is a plain script that names itself. */
function load(path) {
  library ??= new Promise((ok, no) => {
    const script = Object.assign(document.createElement("script"), { src: path, onload: () => ok(window.Plotly), onerror: no });
    document.head.append(script);
  });
  return library;
}

/** Brings the pictures in this part of the page to life. */
export async function show(part) {
  wireEvents(part.ownerDocument);
  const data = await (await fetch(`/api/assays/${part.dataset.id}/charts`)).json();
  const view = new View(part, data);
  view.wireCursor();
  part.ownerDocument.addEventListener("event-chosen", (event) => view.emphasise(event.detail));
  if (!part.dataset.charts) return;
  const plotly = await load(part.dataset.charts);
  if (part.isConnected) view.draw(plotly);
}

function wireEvents(page) {
  for (const key of page.querySelectorAll("button[data-event]")) {
    key.addEventListener("click", () => choose(page, key.getAttribute("aria-pressed") === "true" ? null : key.dataset.event));
  }
}

/** Shows one event wherever it stands; none if `which` is null. */
function choose(page, which) {
  for (const place of page.querySelectorAll("[data-event]")) {
    const is = place.dataset.event === which;
    place.classList.toggle("chosen", is);
    if (place.matches("button")) place.setAttribute("aria-pressed", String(is));
  }
  page.dispatchEvent(new CustomEvent("event-chosen", { detail: which }));
}

const round = (x, digits = 4) => Number(x.toPrecision(digits)).toString().replace("-", "−");
const mhz = (hz) => `${round(hz / 1e6)} MHz`;

/** Return loss in dB; of a reflection that errors may read above 1, zero. */
const returnLoss = (size) => (size > 0.995 ? "0.0" : round(-20 * Math.log10(size || 1e-6), 3));

/** Impedance for a reflection, ohm. */
function impedance(re, im, reference) {
  const size = (1 - re) ** 2 + im ** 2 || 1e-12;
  return [(reference * (1 - re ** 2 - im ** 2)) / size, (reference * 2 * im) / size];
}

function spoken(r, x) {
  return `${round(r, 3)} ${x < 0 ? "−" : "+"} j${round(Math.abs(x), 3)} ohm`;
}

class View {
  constructor(part, data) {
    this.part = part;
    this.data = data;
    this.feet = document.documentElement.dataset.units === "feet";
    this.charts = {};
    const style = getComputedStyle(document.documentElement);
    this.colour = (name) => style.getPropertyValue(`--${name}`).trim();
    this.lines = [1, 2, 3, 4].map((n) => this.colour(`curve-${n}`));
  }

  // -------------------------------------------------------------- the cursor in frequency

  wireCursor() {
    const first = this.data.smith.sweeps[0];
    const box = this.part.querySelector(".cursor");
    if (!first || !box) return;
    const slider = box.querySelector("input");
    slider.max = String(first.freq_hz.length - 1);
    slider.addEventListener("input", () => this.moveTo(first.freq_hz[Number(slider.value)]));
    const play = box.querySelector("button");
    play.addEventListener("click", () => this.play(slider, play));
    box.hidden = false;
    this.slider = slider;
    this.moveTo(first.freq_hz[0]);
  }

  play(slider, key) {
    const on = key.getAttribute("aria-pressed") !== "true";
    key.setAttribute("aria-pressed", String(on));
    if (!on) return;
    if (slider.value === slider.max) slider.value = "0";
    const step = Math.max(1, Math.round(slider.max / 240));
    const next = () => {
      if (key.getAttribute("aria-pressed") !== "true" || !slider.isConnected) return;
      if (Number(slider.value) >= Number(slider.max)) return key.setAttribute("aria-pressed", "false");
      slider.value = String(Number(slider.value) + step);
      slider.dispatchEvent(new Event("input"));
      setTimeout(next, 40);
    };
    next();
  }

  moveTo(hz) {
    this.hz = hz;
    const at = this.data.smith.sweeps.map((sweep) => ({ sweep, i: nearest(sweep.freq_hz, hz) }));
    const lines = at.map(({ sweep, i }) => {
      const [r, x] = impedance(sweep.re[i], sweep.im[i], this.data.smith.z_ref_ohm);
      const size = Math.hypot(sweep.re[i], sweep.im[i]);
      const angle = (Math.atan2(sweep.im[i], sweep.re[i]) * 180) / Math.PI;
      return `${sweep.far_end}: ${spoken(r, x)}, |Γ| ${round(size, 3)} at ${round(angle, 3)}°, return loss ${returnLoss(size)} dB`;
    });
    this.slider.setAttribute("aria-valuetext", `${mhz(hz)}: ${lines.join("; ")}`);
    const reading = this.part.querySelector("#reading");
    reading.replaceChildren(...[mhz(hz), ...lines].map((text) => Object.assign(document.createElement("span"), { textContent: text })));
    this.markCursor(at);
  }

  markCursor(at) {
    const { smith } = this.charts;
    if (!this.plotly) return;
    if (smith) {
      const x = at.map(({ sweep, i }) => sweep.re[i]);
      const y = at.map(({ sweep, i }) => sweep.im[i]);
      this.plotly.restyle(smith, { x: [x], y: [y] }, [smith.data.length - 1]);
    }
    for (const name of ["loss", "return-loss"]) {
      const shapes = [this.upright(this.hz / 1e6), ...(name === "return-loss" ? this.ripple() : [])];
      if (this.charts[name]) this.plotly.relayout(this.charts[name], { shapes });
    }
  }

  /** A bar as wide as the chosen event's period, from the cursor on. */
  ripple() {
    const period = this.data.events[this.chosen]?.ripple_hz;
    if (!period) return [];
    const x0 = (this.hz ?? 0) / 1e6;
    return [{ type: "rect", x0, x1: x0 + period / 1e6, yref: "paper", y0: 0.97, y1: 1, line: { width: 0 }, fillcolor: this.colour("bad"), opacity: 0.6 }];
  }

  upright(x, colour = this.colour("soft"), width = 1) {
    return { type: "line", x0: x, x1: x, yref: "paper", y0: 0, y1: 1, line: { color: colour, width, dash: "dot" } };
  }

  // -------------------------------------------------------------- charts

  draw(plotly) {
    this.plotly = plotly;
    this.place("smith", this.smith(), { square: true });
    if (this.data.profile) this.place("profile", this.profile());
    if (this.data.loss.at_hz.length) this.place("loss", this.loss());
    this.place("return-loss", this.returnLoss());
    if (this.slider) this.moveTo(this.hz);
  }

  place(name, { traces, layout }, { square = false } = {}) {
    const figure = this.part.querySelector(`[data-picture="${name}"]`);
    if (!figure) return;
    const chart = document.createElement("div");
    chart.className = square ? "chart square" : "chart";
    figure.querySelector("svg").replaceWith(chart);
    const text = this.colour("ink");
    this.plotly.newPlot(
      chart,
      traces,
      {
        autosize: true,
        margin: { l: 56, r: 12, t: 10, b: 46 },
        paper_bgcolor: "transparent",
        plot_bgcolor: "transparent",
        font: { family: this.colour("text"), size: 13, color: text },
        hoverlabel: { bgcolor: this.colour("card"), bordercolor: this.colour("field"), font: { color: text } },
        showlegend: true,
        legend: { orientation: "h", x: 0, y: 1.02, yanchor: "bottom" },
        dragmode: "pan",
        ...layout,
      },
      {
        responsive: true,
        scrollZoom: false,
        displaylogo: false,
        showSendToCloud: false,
        displayModeBar: "hover",
        modeBarButtonsToRemove: ["select2d", "lasso2d", "autoScale2d"],
        toImageButtonOptions: { format: "png", filename: `lineproof-${name}`, scale: 2 },
      },
    );
    this.charts[name] = chart;
  }

  axis(title, more = {}) {
    return { title: { text: title }, gridcolor: this.colour("line"), zeroline: false, linecolor: this.colour("field"), ticks: "outside", tickcolor: this.colour("field"), ...more };
  }

  smith() {
    const { smith } = this.data;
    const grid = { mode: "lines", hoverinfo: "skip", showlegend: false };
    const joined = smith.grid.reduce((all, line) => ({ x: [...all.x, ...line.re, null], y: [...all.y, ...line.im, null] }), { x: [], y: [] });
    const sweeps = smith.sweeps.map((sweep, n) => ({
      name: sweep.far_end,
      x: sweep.re,
      y: sweep.im,
      mode: "lines",
      line: { color: this.lines[n % 4], width: 1.8, dash: DASHES[n % 4] },
      text: sweep.freq_hz.map((hz, i) => {
        const [r, x] = impedance(sweep.re[i], sweep.im[i], smith.z_ref_ohm);
        const size = Math.hypot(sweep.re[i], sweep.im[i]);
        const angle = (Math.atan2(sweep.im[i], sweep.re[i]) * 180) / Math.PI;
        return `<b>${mhz(hz)}</b><br>R ${round(r, 4)} ohm<br>X ${round(x, 4)} ohm<br>Γ ${round(size, 3)} at ${round(angle, 3)}°`;
      }),
      hovertemplate: "%{text}<extra>%{fullData.name}</extra>",
    }));
    const points = (items, more) => ({ x: items.map((p) => p.re), y: items.map((p) => p.im), text: items.map((p) => p.text), ...more });
    const ring = (colour) => ({ symbol: "circle-open", size: 11, color: colour, line: { width: 2.5 } });
    return {
      traces: [
        { ...grid, ...joined, line: { color: this.colour("line"), width: 1 } },
        { ...grid, x: smith.rim.re, y: smith.rim.im, line: { color: this.colour("ink"), width: 1 } },
        points(smith.labels, { mode: "text", hoverinfo: "skip", showlegend: false, textfont: { size: 11, color: this.colour("soft") }, textposition: smith.labels.map((l) => (l.text.includes("j") ? "middle center" : "bottom right")) }),
        ...sweeps,
        points(smith.marks, { name: "read by a method", mode: "markers", marker: ring(this.colour("bad")), hovertemplate: "%{text}<extra></extra>" }),
        { name: "frequency", x: [], y: [], mode: "markers", hoverinfo: "skip", showlegend: false, marker: { symbol: "diamond", size: 10, color: this.colour("accent"), line: { width: 1, color: this.colour("card") } } },
      ],
      layout: {
        margin: { l: 8, r: 8, t: 8, b: 8 },
        xaxis: { visible: false, range: [-1.12, 1.12] },
        yaxis: { visible: false, range: [-1.12, 1.12], scaleanchor: "x", scaleratio: 1 },
      },
    };
  }

  profile() {
    const { at_m: metres, ohm, u95_ohm: u95 } = this.data.profile;
    const unit = this.feet ? "ft" : "m";
    const at = metres.map((m) => m / (this.feet ? FEET : METRES));
    const end = at[at.length - 1];
    const band = { mode: "lines", line: { width: 0 }, hoverinfo: "skip", showlegend: false };
    const events = this.data.events.filter((event) => event.at_m !== undefined);
    return {
      traces: [
        { ...band, x: at, y: ohm.map((z, i) => z + u95[i]) },
        { ...band, x: at, y: ohm.map((z, i) => z - u95[i]), fill: "tonexty", fillcolor: this.colour("band") },
        {
          name: "impedance with its 95 % band",
          x: at,
          y: ohm,
          mode: "lines",
          line: { color: this.lines[0], width: 2 },
          text: at.map((x, i) => `<b>${round(ohm[i], 4)} ± ${round(u95[i], 2)} ohm</b><br>${x.toFixed(2)} ${unit} from the near end<br>${(end - x).toFixed(2)} ${unit} from the far end`),
          hovertemplate: "%{text}<extra></extra>",
        },
      ],
      layout: {
        xaxis: this.axis(`distance from the near end, ${unit}`, { range: [0, end] }),
        yaxis: this.axis("impedance, ohm"),
        hovermode: "x",
        shapes: this.eventShapes(null),
        annotations: events.map((event, n) => ({ x: this.place_of(event), yref: "paper", y: 0.5 - 0.09 * (n % 4), text: event.kind, showarrow: false, xanchor: "left", xshift: 6, bgcolor: this.colour("card"), font: { color: this.colour("bad") } })),
      },
    };
  }

  place_of(event) {
    return event.at_m / (this.feet ? FEET : METRES);
  }

  /** A line for each event; the chosen one broad, with the interval of its place. */
  eventShapes(chosen) {
    return this.data.events.flatMap((event, n) => {
      if (event.at_m === undefined) return [];
      const is = String(n) === chosen;
      const x = this.place_of(event);
      const line = this.upright(x, this.colour("bad"), is ? 4 : 1.5);
      const half = (event.u95_m ?? 0) / (this.feet ? FEET : METRES);
      const span = { type: "rect", x0: x - half, x1: x + half, yref: "paper", y0: 0, y1: 1, line: { width: 0 }, fillcolor: this.colour("bad"), opacity: 0.25 };
      return is ? [span, line] : [line];
    });
  }

  emphasise(chosen) {
    if (!this.part.isConnected) return;
    this.chosen = chosen;
    this.explain(this.data.events[chosen]);
    if (this.slider) this.moveTo(this.hz);
    const { profile } = this.charts;
    if (!profile) return;
    this.plotly.relayout(profile, { shapes: this.eventShapes(chosen) });
    if (chosen !== null) profile.scrollIntoView({ block: "nearest" });
  }

  /** Pictures against frequency have no point for a place: each says what the chosen event is there. */
  explain(event) {
    const period = event?.ripple_hz && mhz(Number(event.ripple_hz.toPrecision(3)));
    const words = {
      smith: period && `The ${event.kind} has no place here: its reflection goes once around the chart every ${period}.`,
      "return-loss": period && `The ${event.kind} has no place here: it makes a ripple every ${period}${this.plotly ? ", as wide as the bar at the top" : ""}.`,
      loss: event && `The loss is that of the whole piece: the ${event.kind} has no place here.`,
    };
    for (const [name, text] of Object.entries(words)) {
      const figure = this.part.querySelector(`[data-picture="${name}"]`);
      figure?.querySelector(".place")?.remove();
      if (figure && text) figure.append(Object.assign(document.createElement("p"), { className: "place", textContent: text }));
    }
  }

  loss() {
    const { loss, catalogue } = this.data;
    return {
      traces: [
        {
          name: "found, with its 95 % interval",
          x: loss.at_hz.map((hz) => hz / 1e6),
          y: loss.db,
          mode: "lines+markers",
          line: { color: this.lines[0], width: 2 },
          error_y: { type: "data", array: loss.u95_db, visible: true, color: this.lines[0], thickness: 1.5 },
          hovertemplate: "<b>%{y:.4~g} dB</b> ± %{error_y.array:.2~g} dB<br>%{x:.4~g} MHz<extra></extra>",
        },
        ...catalogue.map((curve, n) => ({
          name: curve.name,
          x: curve.at_hz.map((hz) => hz / 1e6),
          y: curve.db,
          mode: "lines",
          line: { color: this.lines[(n + 1) % 4], width: 1.8, dash: DASHES[(n + 1) % 4] },
          hovertemplate: "%{y:.3~g} dB at %{x:.4~g} MHz<extra>%{fullData.name}</extra>",
        })),
      ],
      layout: { xaxis: this.axis("frequency, MHz", { rangemode: "tozero" }), yaxis: this.axis("loss, dB", { rangemode: "tozero" }) },
    };
  }

  returnLoss() {
    return {
      traces: this.data.smith.sweeps.map((sweep, n) => ({
        name: sweep.far_end,
        x: sweep.freq_hz.map((hz) => hz / 1e6),
        y: sweep.re.map((re, i) => Math.max(0, -20 * Math.log10(Math.hypot(re, sweep.im[i]) || 1e-6))),
        mode: "lines",
        line: { color: this.lines[n % 4], width: 1.8, dash: DASHES[n % 4] },
        hovertemplate: "%{y:.3~g} dB at %{x:.5~g} MHz<extra>%{fullData.name}</extra>",
      })),
      layout: { xaxis: this.axis("frequency, MHz", { rangemode: "tozero" }), yaxis: this.axis("return loss, dB", { rangemode: "tozero" }) },
    };
  }
}

/** Number of the frequency that is closest. */
function nearest(freq, hz) {
  let low = 0;
  let high = freq.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (freq[middle] <= hz) low = middle;
    else high = middle;
  }
  return hz - freq[low] <= freq[high] - hz ? low : high;
}
