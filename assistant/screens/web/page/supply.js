// The big figures of each cylinder, and the road: how far the gas reaches, and where the hand-over lies.
const AHEAD_MIN = 30; // the least that the road shows

export function showSupplies(place, state) {
  place.classList.toggle("several", state.supplies.length > 1);
  const bottles = state.supplies.length ? state.supplies.map((each) => bottle(each, state)) : [nothing()];
  const fresh = bottles.map((each) => each.outerHTML).join("");
  if (place.dataset.shown === fresh) return;
  place.dataset.shown = fresh;
  place.replaceChildren(...bottles);
}

function bottle(supply, state) {
  const box = make("article", supply.minutes >= 100 ? "bottle long" : "bottle");
  const patients = new Set(state.supplies.map((each) => each.patient)).size;
  const named = [`Bottle ${supply.cylinder}`, supply.called && `${supply.called}, ${supply.size}`, patients > 1 && `patient ${supply.patient}`];
  box.append(make("p", "who", named.filter(Boolean).join(" · ")));
  const pair = make("div", "pair");
  pair.append(minutes(supply), pressure(supply));
  box.append(pair, make("p", "rest", rest(supply)));
  return box;
}

function minutes(supply) {
  if (supply.minutes === null) {
    const words = supply.flow === "0" ? "Flow off" : supply.lacks.length ? `Say the ${supply.lacks.join(", ")}` : "Minutes unknown";
    const box = make("div", "minutes unknown");
    box.append(make("p", "figure", words));
    return box;
  }
  const box = make("div", "minutes");
  box.append(make("p", "figure", String(supply.minutes)), make("p", "unit", "minutes to reserve"));
  const high = supply.high === null ? "more" : supply.high;
  box.append(make("p", "small", `${supply.low} to ${high} in nine of ten`));
  return box;
}

function pressure(supply) {
  const box = make("div", "pressure");
  if (supply.pressure === null) return box;
  box.append(make("p", "figure", supply.pressure));
  box.append(make("p", "unit", `${supply.unit} ${supply.estimated ? "estimated" : "read"}`));
  const read = supply.read_min === 0 ? "read just now" : `read ${supply.read_min} min ago`;
  box.append(make("p", "small", `${read}, reserve ${supply.reserve}`));
  return box;
}

function rest(supply) {
  const flow = supply.flow === null ? null : `${supply.flow} L/min`;
  return [flow, supply.device].filter(Boolean).join(" · ");
}

function nothing() {
  const box = make("article", "bottle unknown");
  box.append(make("p", "figure", "No cylinder yet"));
  return box;
}

export function showRoad(place, state) {
  const known = state.supplies.filter((each) => each.minutes !== null);
  place.hidden = !known.length;
  if (!known.length) return;
  const least = Math.min(...known.map((each) => each.minutes));
  const boat = state.handover_min;
  const far = Math.max(AHEAD_MIN, least * 1.25, boat === null ? 0 : boat * 1.1);
  const line = place.querySelector("#road-line");
  const gas = make("div", "gas");
  gas.style.width = `${Math.min(100, (100 * least) / far)}%`;
  const posts = [post(least, far, `reserve ${least}`)];
  if (boat !== null && boat > 0) posts.push(post(boat, far, `hand-over ${Math.floor(boat)}`));
  line.replaceChildren(gas, ...posts);
  place.querySelector("#road-words").textContent = words(least, boat, state);
}

function post(minute, far, word) {
  const share = (100 * minute) / far;
  const box = make("div", share > 70 ? "post left" : "post");
  box.style.left = `${share}%`;
  box.append(make("span", "", word));
  return box;
}

function words(least, boat, state) {
  const parts = [];
  if (boat !== null && boat > 0) {
    const short = Math.ceil(boat) - least;
    parts.push(short > 0 ? `✕ Hand-over is ${short} min past the reserve.` : `✓ Hand-over is ${-short} min before the reserve.`);
  }
  if (state.next_alert_s !== null && state.next_alert_s > 0) {
    parts.push(state.next_alert_s < 60 ? `Next alert in ${state.next_alert_s} s.` : `Next alert in ${Math.floor(state.next_alert_s / 60)} min.`);
  }
  for (const vital of state.vitals) parts.push(`${vital.name} ${vital.value}${vital.min ? ` (${vital.min} min ago)` : ""}`);
  return parts.join("  ·  ");
}

function make(name, kind, text) {
  const element = document.createElement(name);
  if (kind) element.className = kind;
  if (text !== undefined) element.textContent = text;
  return element;
}
