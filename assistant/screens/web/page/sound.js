// What this browser says aloud: the most urgent first; an alert cuts into a reply, which is said again after it.
const FIRST_TO_CUT_IN = 1; // ranks: 0 high, 1 medium, 2 low alerts, 3 prompts, 4 replies
const REPLY = 4;

export class Voice {
  constructor(onChange, onBlocked) {
    this.waiting = [];
    this.now = null;
    this.player = new Audio();
    this.on = true;
    this.onChange = onChange;
    this.onBlocked = onBlocked;
    this.player.addEventListener("ended", () => this.done());
    this.player.addEventListener("error", () => this.done());
  }

  say(saying) {
    if (saying.rank <= FIRST_TO_CUT_IN) bell(saying.rank === 0 ? 3 : 2);
    if (!this.on || !saying.sound) return;
    if (saying.rank === REPLY) this.waiting = this.waiting.filter((each) => each.rank !== REPLY);
    this.waiting.push(saying);
    const cuts = this.now && saying.rank <= FIRST_TO_CUT_IN && saying.rank < this.now.rank;
    const newer = this.now && saying.rank === REPLY && this.now.rank === REPLY;
    if (cuts) this.waiting.push(this.now);
    if (cuts || newer) this.stop();
    this.next();
  }

  hush() {
    this.waiting = [];
    this.stop();
  }

  stop() {
    this.player.pause();
    this.now = null;
    this.onChange(false);
  }

  done() {
    this.now = null;
    if (!this.waiting.length) this.onChange(false);
    this.next();
  }

  next() {
    if (this.now || !this.waiting.length) return;
    this.waiting.sort((one, other) => one.rank - other.rank);
    this.now = this.waiting.shift();
    this.onChange(true);
    this.player.src = this.now.sound;
    this.player.play().catch((error) => {
      if (error.name === "NotAllowedError") this.onBlocked();
      if (error.name !== "AbortError") this.done();
    });
  }

  get speaking() {
    return this.now !== null;
  }
}

let tones = null;

function bell(times) {
  tones = tones || new AudioContext();
  if (tones.state === "suspended") tones.resume();
  for (let strike = 0; strike < times; strike += 1) {
    const tone = tones.createOscillator();
    const fading = tones.createGain();
    const at = tones.currentTime + strike * 0.16;
    tone.frequency.value = 880;
    fading.gain.setValueAtTime(0.25, at);
    fading.gain.exponentialRampToValueAtTime(0.001, at + 0.14);
    tone.connect(fading).connect(tones.destination);
    tone.start(at);
    tone.stop(at + 0.15);
  }
}
