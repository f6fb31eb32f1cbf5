// The page: shows what the server sends, sends what is typed and said. It reckons nothing about the gas.
import { draw } from "/chart.js";
import { Talk } from "/talk.js";
import { Voice } from "/sound.js";
import { showSupplies, showRoad } from "/supply.js";

const SILENT_FOR_MS = 3500; // the server sends every second; longer silence is a lost connection
const AGAIN_AFTER_MS = 800;
const SIGNS = { high: "!!!", medium: "!!", low: "!" };
const WHO = { medic: "", voice: "", alert: "Alert:", aside: "not for the assistant:", note: "" };
const at = (id) => document.getElementById(id);

let socket = null;
let heardFrom = 0;
const alertWords = {};

const voice = new Voice(
  (speaking) => document.body.classList.toggle("speaking", speaking),
  () => showLine({ who: "note", clock: "", text: "This browser keeps sound off until you tap or press a key." }),
);
const talk = new Talk(at("talk"), {
  send: (message) => socket && socket.readyState === WebSocket.OPEN && socket.send(message),
  interrupt: () => { voice.hush(); send({ type: "hush" }); },
  deaf: () => voice.speaking,
  tell: (text) => showLine({ who: "note", clock: at("clock").textContent, text }),
});

function send(message) {
  if (socket && socket.readyState === WebSocket.OPEN) socket.send(JSON.stringify(message));
}

function connect() {
  const scheme = location.protocol === "https:" ? "wss" : "ws";
  const opened = new WebSocket(`${scheme}://${location.host}/live`);
  socket = opened;
  opened.binaryType = "arraybuffer";
  opened.onmessage = (event) => {
    if (opened !== socket) return;
    heardFrom = performance.now();
    taken[JSON.parse(event.data).type]?.(JSON.parse(event.data));
  };
  opened.onclose = () => {
    if (opened !== socket) return;
    lost();
    setTimeout(connect, AGAIN_AFTER_MS);
  };
}

function lost() {
  if (document.body.classList.contains("old")) return;
  document.body.classList.add("old");
  at("link").classList.add("lost");
  at("link").querySelector(".sign").textContent = "✕";
  at("link-words").textContent = `Connection lost. Numbers are those of ${at("clock").textContent}. Trying again.`;
  talk.lost();
}

function found() {
  document.body.classList.remove("old");
  at("link").classList.remove("lost");
  at("link").querySelector(".sign").textContent = "●";
  at("link-words").textContent = "Connected";
}

setInterval(() => {
  if (performance.now() - heardFrom < SILENT_FOR_MS) return;
  if (socket && socket.readyState === WebSocket.OPEN) {
    lost();
    const silent = socket;
    socket = null;
    silent.close();
    connect();
  }
}, 500);

const taken = {
  hello(message) {
    at("log").replaceChildren();
    message.lines.forEach(showLine);
    found();
  },
  line: showLine,
  state: showState,
  chart: (message) => draw(at("chart"), message),
  say: (message) => voice.say(message),
  hush: () => voice.hush(),
  microphone: (message) => talk.whose(message.whose),
  refused: (message) => { talk.refused(); showLine({ who: "note", clock: at("clock").textContent, text: message.why }); },
  ears: (message) => talk.hears(message.partial),
};

function showLine(line) {
  const item = document.createElement("li");
  item.className = line.who;
  const time = document.createElement("time");
  time.textContent = line.clock;
  const words = document.createElement("p");
  const who = document.createElement("span");
  who.className = "who";
  who.textContent = line.who === "alert" ? `${SIGNS[line.priority]} ${WHO.alert}` : line.outcome === "refused" ? "✕ not taken" : WHO[line.who];
  if (who.textContent) words.append(who);
  words.append(line.text);
  item.append(time, words);
  at("log").append(item);
  while (at("log").children.length > 300) at("log").firstChild.remove();
  at("log").scrollTop = at("log").scrollHeight;
  if (line.who === "alert") alertWords[line.kind] = line.text;
}

function showState(state) {
  const whole = Math.floor(state.at_s);
  const two = (number) => String(number).padStart(2, "0");
  at("clock").textContent = `${Math.floor(whole / 3600)}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
  showSupplies(at("supplies"), state);
  showRoad(at("road"), state);
  showNext(state);
  showAlert(state.alert);
  const first = state.supplies[0];
  document.title = first && first.minutes !== null ? `${first.minutes} min to reserve` : "Oxygen";
}

function showNext(state) {
  const step = state.step;
  const title = step ? `${step.procedure}, step ${step.done + 1}` : state.question ? "Question" : "Next";
  const usual = state.supplies.length ? "Say any change: gauge, flow, saturation, hand-over." : "Say what the gauge reads.";
  const words = step ? [step.caution, step.say].filter(Boolean).join(" ") : state.question || usual;
  if (at("next-title").textContent !== title) at("next-title").textContent = title;
  if (at("next-words").textContent !== words) at("next-words").textContent = words;
}

function showAlert(alert) {
  const box = at("alert");
  box.hidden = alert === null;
  if (!alert) return;
  box.className = alert.priority;
  const words = (alertWords[alert.kind] || alert.kind.replaceAll("_", " ")) + (alert.more ? ` (and ${alert.more} more)` : "");
  if (at("alert-words").textContent === words) return;
  at("alert-sign").textContent = SIGNS[alert.priority];
  at("alert-words").textContent = words;
}

new ResizeObserver(() => { at("log").scrollTop = at("log").scrollHeight; }).observe(at("log"));

at("typing").addEventListener("submit", (event) => {
  event.preventDefault();
  const text = at("words").value.trim();
  if (!text) return;
  if (document.body.classList.contains("old")) return lost();
  voice.hush();
  send({ type: "text", text });
  at("words").value = "";
});
at("heard").addEventListener("click", () => send({ type: "text", text: "alarm heard" }));
at("quiet").addEventListener("click", () => { voice.hush(); send({ type: "hush" }); });
at("voice").addEventListener("click", () => {
  voice.on = !voice.on;
  if (!voice.on) voice.hush();
  at("voice").textContent = voice.on ? "Voice on" : "Voice off";
  at("voice").setAttribute("aria-pressed", String(voice.on));
});

function look(name) {
  document.documentElement.dataset.look = name;
  at("look").textContent = name === "day" ? "Night" : "Day";
}
const kept = localStorage.getItem("look");
look(kept || (matchMedia("(prefers-color-scheme: dark)").matches ? "night" : "day"));
at("look").addEventListener("click", () => {
  const name = document.documentElement.dataset.look === "day" ? "night" : "day";
  localStorage.setItem("look", name);
  look(name);
});

connect();
