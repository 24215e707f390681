// Runs a chart in SCION, an interpreter of SCXML, in virtual time.
//
// Called with the chart's file and the output's; the standard input is a JSON
// array of lists {acts, draws}. An act is an event's name, posted in a millisecond
// of its own, or a number, milliseconds to wait. A draw [lo, hi, drawn] is what
// chance gives next. The output is a JSON array: for each list the state after each
// of its acts, behind it what the chart has logged.
"use strict";

let now = 0;
let timers = []; // {id, at, run}, those set first first
let last = 0;
const fakeTimeout = (run, ms) => {
  timers.push({ id: ++last, at: now + Number(ms || 0), run });
  return last;
};
const fakeClear = (id) => {
  timers = timers.filter((t) => t.id !== id);
};
function due(until) {
  for (;;) {
    let first = null;
    for (const t of timers) if (t.at <= until && (first === null || t.at < first.at)) first = t;
    if (first === null) return;
    timers = timers.filter((t) => t !== first);
    now = first.at;
    first.run();
  }
}

const scxml = require("@scion-scxml/scxml");
const fs = require("fs");
const path = require("path");
const lists = JSON.parse(fs.readFileSync(0, "utf8"));

let draws = [];
// time gives for Math.random() what makes a draw of a time what it is.
function time() {
  const [lo, hi, drawn] = draws.shift();
  return (drawn - lo + 0.5) / (hi - lo + 1);
}
// share gives Math.random() * of. A draw of one of several has the number of a state:
// those before it are asked in vain. The last state that is left needs no draw.
let drawing = null;
let asked = 0;
function share(of) {
  if (drawing === null) {
    if (of === 1) return 0;
    drawing = draws.shift();
    asked = 0;
  }
  const [, hi, drawn] = drawing;
  const least = 1 / (hi + 1 - asked); // a random number below it is for this state
  if (asked++ < drawn) return least * 1.001 * of;
  drawing = null;
  return least * 0.999 * of;
}

function read() {
  return new Promise((resolve, reject) =>
    scxml.documentStringToModel(
      "file://" + path.resolve(process.argv[2]),
      // The interpreter gives its scripts a Math of their own, so it is the text
      // that is changed.
      fs.readFileSync(process.argv[2], "utf8").replaceAll("Math.random() * (", "share(").replaceAll("Math.random()", "time()"),
      (err, model) => (err ? reject(err) : resolve(model))
    )
  );
}

// prepare makes a model with data of its own.
function prepare(model) {
  return new Promise((resolve, reject) => model.prepare((err, m) => (err ? reject(err) : resolve(m)), { time, share }));
}

(async () => {
  const out = [];
  const model = await read();
  const [realTimeout, realClear] = [global.setTimeout, global.clearTimeout];
  for (const list of lists) {
    [global.setTimeout, global.clearTimeout] = [realTimeout, realClear];
    const prepared = await prepare(model);
    [global.setTimeout, global.clearTimeout] = [fakeTimeout, fakeClear];
    now = 0;
    timers = [];
    draws = list.draws;
    let said = [];
    const chart = new scxml.core.Statechart(prepared, { console: { log: (...words) => said.push(words.join(",")) } });
    chart.start();
    const states = [];
    for (const entry of list.acts) {
      if (typeof entry === "number") {
        const until = now + entry;
        due(until);
        now = until;
      } else {
        now += 1;
        chart.gen({ name: entry });
        due(now);
      }
      states.push(chart.getConfiguration().concat(said).join(" "));
      said = [];
    }
    out.push(states);
  }
  fs.writeFileSync(process.argv[3], JSON.stringify(out));
  process.exit(0); // whatever the interpreter still waits for
})().catch((e) => {
  console.error(e);
  process.exit(1);
});
