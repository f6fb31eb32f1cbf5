// Draws the pressure over the incident: what was read (dots), what is reckoned (line within its band), what lies ahead
// (dashed), the reserve and the hand-over. Every line carries its word.
const LEFT = 58, RIGHT = 14, TOP = 26, FOOT = 28, LEAST_WIDE = 260, LEAST_HIGH = 140;
// The chart's own size in pixels, so that its words are as large on every screen.
let WIDE = 480, HIGH = 270;
const SVG = "http://www.w3.org/2000/svg";

export function draw(svg, chart) {
  const points = chart.cylinders.flatMap((each) => [...each.readings, ...each.ahead]);
  svg.classList.toggle("empty", !points.length);
  WIDE = Math.max(LEAST_WIDE, svg.clientWidth);
  HIGH = points.length ? Math.max(LEAST_HIGH, svg.clientHeight) : svg.clientHeight;
  svg.setAttribute("viewBox", `0 0 ${WIDE} ${HIGH}`);
  svg.replaceChildren();
  svg.setAttribute("aria-label", told(chart));
  if (!points.length) {
    put(svg, "text", { x: 0, y: 20 }, "Begins with a gauge reading and a size.");
    return;
  }
  const place = scaled(chart, points);
  grid(svg, place, chart);
  for (const cylinder of chart.cylinders) curve(svg, place, chart, cylinder);
}

function scaled(chart, points) {
  const ends = [...points.map((each) => each[0]), chart.now, ...(chart.handover === null ? [] : [chart.handover])];
  const first = Math.min(...points.map((each) => each[0]), chart.now);
  const last = Math.max(first + 10, Math.min(Math.max(...ends), chart.now + 120));
  const top = 1.1 * Math.max(...points.map((each) => each[3] ?? each[1]), 2 * chart.reserve);
  return {
    first, last, top, now: chart.now,
    x: (minute) => LEFT + ((minute - first) / (last - first)) * (WIDE - LEFT - RIGHT),
    y: (pressure) => HIGH - FOOT - (pressure / top) * (HIGH - TOP - FOOT),
  };
}

function grid(svg, place, chart) {
  for (const pressure of steps(0, place.top, 4)) {
    line(svg, "grid", LEFT, place.y(pressure), WIDE - RIGHT, place.y(pressure));
    put(svg, "text", { x: LEFT - 10, y: place.y(pressure) + 5, "text-anchor": "end" }, String(pressure));
  }
  const unitFrom = WIDE - RIGHT - 50;
  for (const minute of steps(place.first, place.last, 5).filter((each) => place.x(each) < unitFrom)) {
    put(svg, "text", { x: place.x(minute), y: HIGH - 8, "text-anchor": "middle" }, `${Math.round(minute)}`);
  }
  put(svg, "text", { x: WIDE - RIGHT, y: HIGH - 8, "text-anchor": "end" }, "min");
  put(svg, "text", { x: 4, y: 15 }, chart.unit);
  upright(svg, place, "now", chart.now, "now");
  if (chart.handover !== null) upright(svg, place, "boat", chart.handover, "hand-over");
  line(svg, "reserve", LEFT, place.y(chart.reserve), WIDE - RIGHT, place.y(chart.reserve));
  const ends = Math.max(...chart.cylinders.flatMap((each) => [...each.readings, ...each.ahead].map((point) => place.x(point[0]))));
  const right = ends < WIDE / 2; // on the side where no curve comes down to it
  const where = { x: right ? WIDE - RIGHT - 6 : LEFT + 6, "text-anchor": right ? "end" : "start" };
  put(svg, "text", { ...where, y: place.y(chart.reserve) - 6 }, "reserve");
}

function upright(svg, place, kind, minute, word) {
  const beyond = minute > place.last;
  const x = beyond ? WIDE - RIGHT : place.x(minute);
  const near = x > WIDE - 120;
  // Above the plot, where no line goes through the word; below its edge where the word for now stands there.
  const high = kind === "now" || Math.abs(x - place.x(place.now)) > 130;
  if (!beyond) line(svg, kind, x, TOP, x, HIGH - FOOT);
  const said = beyond ? `${word} at ${Math.round(minute)} →` : word;
  put(svg, "text", { x: near ? x - 4 : x + 4, y: high ? 15 : TOP + 14, "text-anchor": near ? "end" : "start" }, said);
}

function curve(svg, place, chart, cylinder) {
  const shown = cylinder.ahead.filter(([minute]) => minute <= place.last);
  const at = ([minute, pressure]) => `${place.x(minute).toFixed(1)},${place.y(pressure).toFixed(1)}`;
  const band = [...shown.map((p) => at([p[0], p[3]])), ...shown.map((p) => at([p[0], p[2]])).reverse()];
  if (shown.length > 1) put(svg, "polygon", { class: "band", points: band.join(" ") });
  const past = [...cylinder.readings, ...shown.filter((p) => p[0] <= chart.now)].sort((a, b) => a[0] - b[0]);
  const ahead = shown.filter((p) => p[0] >= chart.now);
  if (past.length && ahead.length) ahead.unshift(past[past.length - 1]);
  put(svg, "polyline", { class: "curve", points: past.map(at).join(" ") });
  put(svg, "polyline", { class: "curve ahead", points: ahead.map(at).join(" ") });
  for (const [minute, pressure] of cylinder.readings) {
    put(svg, "circle", { class: "dot", r: 6, cx: place.x(minute), cy: place.y(pressure) });
  }
  const label = ahead[Math.floor(ahead.length / 2)] ?? past[0];
  if (label && chart.cylinders.length > 1) {
    put(svg, "text", { x: place.x(label[0]) + 8, y: place.y(label[1]) - 8 }, `bottle ${cylinder.name}`);
  }
}

function steps(from, to, count) {
  const rough = (to - from) / count;
  const size = 10 ** Math.floor(Math.log10(rough));
  const step = size * [1, 2, 5, 10].find((each) => each * size >= rough);
  const found = [];
  for (let at = Math.ceil(from / step) * step; at <= to; at += step) found.push(Number(at.toFixed(6)));
  return found;
}

function told(chart) {
  const each = chart.cylinders.map((cylinder) => {
    const last = cylinder.ahead[cylinder.ahead.length - 1];
    return `Bottle ${cylinder.name}: ${cylinder.readings.length} readings` + (last ? `, reckoned up to minute ${Math.round(last[0])}` : "");
  });
  return each.length ? `Pressure over time. ${each.join(". ")}.` : "No reading yet";
}

function line(svg, kind, x1, y1, x2, y2) {
  put(svg, "line", { class: kind, x1, y1, x2, y2 });
}

function put(svg, name, attributes, text) {
  const shape = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) shape.setAttribute(key, value);
  if (text !== undefined) shape.textContent = text;
  svg.append(shape);
}
