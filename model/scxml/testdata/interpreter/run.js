// Runs a chart in SCION, an interpreter of SCXML, in virtual time.
//
// Called with the chart's file and the output's; the standard input is a JSON
// array of event lists. An event list is an array of events' names, each
// posted in a millisecond of its own, and of numbers, milliseconds to wait.
// The output is a JSON array: for each list the state after each of its
// entries.
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

function read() {
  return new Promise((resolve, reject) =>
    scxml.documentStringToModel(
      "file://" + path.resolve(process.argv[2]),
      // A time drawn from a range is its greatest. The interpreter gives its
      // scripts a Math of their own, so it is the text that is changed.
      fs.readFileSync(process.argv[2], "utf8").replaceAll("Math.random()", "(1 - Math.pow(2, -53))"),
      (err, model) => (err ? reject(err) : resolve(model))
    )
  );
}

// prepare makes a model with data of its own.
function prepare(model) {
  return new Promise((resolve, reject) => model.prepare((err, m) => (err ? reject(err) : resolve(m)), {}));
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
    const chart = new scxml.core.Statechart(prepared);
    chart.start();
    const states = [];
    for (const entry of list) {
      if (typeof entry === "number") {
        const until = now + entry;
        due(until);
        now = until;
      } else {
        now += 1;
        chart.gen({ name: entry });
        due(now);
      }
      states.push(chart.getConfiguration().join(" "));
    }
    out.push(states);
  }
  fs.writeFileSync(process.argv[3], JSON.stringify(out));
  process.exit(0); // whatever the interpreter still waits for
})().catch((e) => {
  console.error(e);
  process.exit(1);
});
