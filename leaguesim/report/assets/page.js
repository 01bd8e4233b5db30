// Draws every chart in place of its static picture and lets one choice of style drive them all.
const told = JSON.parse(document.getElementById("page-data").textContent);
const views = new Map();
const picker = document.getElementById("picker");
const LONGEST_MS = 200;
const NARROW = 420;
const LONG_WORD = 14;
let choice = "all";

if (window.innerWidth < 560) {
  told.config.legend.columns = 2;
  told.config.legend.layout = { top: { direction: "vertical", anchor: "start", bounds: "full" } };
  told.config.axis.labelLimit = 120;
  told.config.axis.labelOverlap = "greedy";
}

// Lets a chart drawn for a fixed width take the width of its place, and keep it when that changes.
// Two columns of a narrow legend have no room for long words.
function oneBelowTheOther(legend, scales) {
  const used = Object.values(legend).filter((name) => typeof name === "string");
  const words = scales.filter((s) => used.includes(s.name)).flatMap((s) => s.domain);
  if (words.some((word) => typeof word === "string" && word.length > LONG_WORD)) {
    legend.columns = 1;
  }
}

// Asking the page for a width makes it lay itself out again, so all are asked for once beforehand.
function stretch(chart, wide) {
  const room = "isFinite(containerSize()[0]) ? containerSize()[0] : 600";
  delete chart.width;
  chart.autosize = { type: "fit-x", contains: "padding" };
  if (wide < NARROW) {
    for (const legend of chart.legends ?? []) {
      oneBelowTheOther(legend, chart.scales ?? []);
    }
  }
  const width = { name: "width", value: wide, on: [{ events: "window:resize", update: room }] };
  chart.signals = [width, ...(chart.signals ?? [])];
  return chart;
}

function follow() {
  for (const element of document.querySelectorAll("[data-style], figure[data-group]")) {
    const mine = element.dataset.style ?? element.dataset.group;
    element.classList.toggle("other", choice !== "all" && mine !== choice);
  }
  const jobs = [];
  for (const view of views.values()) {
    jobs.push(view.signal("picked", choice).runAsync());
  }
  return Promise.all(jobs);
}

async function pick(style) {
  choice = style;
  if (picker) {
    for (const input of picker.querySelectorAll("input")) {
      input.checked = input.value === style;
    }
  }
  await follow();
  document.documentElement.dataset.picked = style;
}

async function draw(key, chart, wide) {
  const place = document.getElementById("chart-" + key);
  const still = place.firstElementChild;
  const live = document.createElement("div");
  live.className = "live";
  place.append(live);
  const spec = { ...chart.spec, datasets: {} };
  for (const name of chart.data) {
    spec.datasets[name] = told.data[name];
  }
  try {
    const made = await window.vegaEmbed(live, spec, {
      mode: "vega-lite",
      config: told.config,
      patch: (made) => stretch(made, wide),
      renderer: "svg",
      downloadFileName: "leaguesim-" + key,
      actions: { export: true, source: false, compiled: false, editor: false },
    });
    views.set(key, made.view);
    made.view.addEventListener("click", (event, item) => {
      const style = item && item.datum && item.datum.style;
      if (picker && style && style !== "all") {
        pick(style === choice ? "all" : style);
      }
    });
    const save = live.querySelector("summary");
    if (save) {
      save.setAttribute("aria-label", "Save this chart as a picture");
    }
    still.remove();
  } catch (error) {
    live.remove();
    console.error("chart " + key + ": " + error);
  }
}

async function start() {
  const begun = performance.now();
  const keys = Object.keys(told.charts);
  const widths = keys.map((key) => document.getElementById("chart-" + key).clientWidth || 600);
  let rested = begun;
  for (const [k, key] of keys.entries()) {
    await draw(key, told.charts[key], widths[k]);
    if (performance.now() - rested > LONGEST_MS) {
      await new Promise((go) => setTimeout(go)); // scrolling and the choice of style stay alive
      rested = performance.now();
    }
  }
  if (picker) {
    picker.hidden = false;
    picker.addEventListener("change", (event) => pick(event.target.value));
  }
  document.documentElement.dataset.drawn = String(views.size);
  document.documentElement.dataset.drawnMs = String(Math.round(performance.now() - begun));
}

window.leaguesim = { pick, views };
start();
