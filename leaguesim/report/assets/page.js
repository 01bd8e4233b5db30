// Draws each chart in place of its static picture when it comes near the screen, and lets one choice of
// style drive them all: a chart drawn later starts from the choice that stands.
const told = JSON.parse(document.getElementById("page-data").textContent);
const views = new Map();
const waiting = new Map(Object.entries(told.charts));
const picker = document.getElementById("picker");
const NEAR = "400px 0px"; // so far below or above the screen a chart is drawn already
const NARROW = 420;
const LONG_WORD = 14;
let choice = "all";

if (window.innerWidth < 560) {
  told.config.legend.columns = 2;
  told.config.legend.layout = { top: { direction: "vertical", anchor: "start", bounds: "full" } };
  told.config.axis.labelLimit = 145;
  told.config.axis.labelOverlap = "greedy";
}

// Two columns of a narrow legend have no room for long words.
function oneBelowTheOther(legend, scales) {
  const used = Object.values(legend).filter((name) => typeof name === "string");
  const words = scales.filter((s) => used.includes(s.name)).flatMap((s) => s.domain);
  if (words.some((word) => typeof word === "string" && word.length > LONG_WORD)) {
    legend.columns = 1;
  }
}

// Lets a chart drawn for a fixed width take the width of its place, and keep it when that changes.
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
  return Promise.all([...views.values()].map((view) => view.signal("picked", choice).runAsync()));
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
  if (style !== "all") {
    drawRest(); // the static pictures show all styles: none may be left to print
  }
}

async function draw(key, chart, wide) {
  const place = document.getElementById("chart-" + key);
  const still = place.firstElementChild;
  const live = document.createElement("div");
  live.className = "live";
  let shown = choice;
  const spec = { ...chart.spec, params: [{ name: "picked", value: shown }], datasets: {} };
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
    while (shown !== choice) {
      shown = choice;
      await made.view.signal("picked", shown).runAsync();
    }
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
    still.replaceWith(live);
  } catch (error) {
    console.error("chart " + key + ": " + error);
  }
}

// Those that wait are drawn one after the other, however often they are asked for.
let drawing = Promise.resolve();
function drawSoon(key, wide) {
  const chart = waiting.get(key);
  if (!chart) {
    return drawing;
  }
  waiting.delete(key);
  drawing = drawing.then(() => draw(key, chart, wide || 600));
  return drawing;
}

// Behind everything else, a chart at a time; what the choice hides is drawn when it is shown again.
async function drawRest() {
  for (const key of [...waiting.keys()]) {
    await new Promise((go) => setTimeout(go)); // scrolling and the choice of style stay alive
    const place = document.getElementById("chart-" + key);
    if (place.offsetParent) {
      await drawSoon(key, place.clientWidth);
    }
  }
}

const begun = performance.now();
const watch = new IntersectionObserver(
  async (seen) => {
    const near = seen.filter((entry) => entry.isIntersecting);
    for (const { target, boundingClientRect } of near) {
      watch.unobserve(target);
      drawSoon(target.id.slice("chart-".length), boundingClientRect.width);
    }
    await drawing;
    const told = document.documentElement.dataset;
    told.drawnMs ??= String(Math.round(performance.now() - begun)); // what the first screen took
    told.drawn = String(views.size);
  },
  { rootMargin: NEAR },
);

for (const key of waiting.keys()) {
  watch.observe(document.getElementById("chart-" + key));
}
if (picker) {
  picker.hidden = false;
  picker.addEventListener("change", (event) => pick(event.target.value));
}
window.leaguesim = { pick, views };
