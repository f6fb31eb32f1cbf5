// Push to talk: hold the button or the space bar, or tap to leave the microphone open. Sends samples while it is open.
const TAP_MS = 350;
const TAIL_MS = 250; // what is said while the hand lets go
const KEPT_PIECES = 15; // what was said while the hand came down: 0.3 s

export class Talk {
  constructor(button, ways) {
    this.button = button;
    this.ways = ways;
    this.open = false;
    this.another = false;
    this.before = [];
    this.context = null;
    this.began = 0;
    this.byKey = false;
    this.listen();
  }

  listen() {
    this.button.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      event.preventDefault();
      this.button.setPointerCapture(event.pointerId);
      this.pressed();
    });
    for (const kind of ["pointerup", "pointercancel"]) this.button.addEventListener(kind, () => this.released());
    this.button.addEventListener("click", (event) => {
      if (event.detail === 0 && !this.byKey) this.open ? this.end() : this.begin(); // a screen reader's press
    });
    this.button.addEventListener("contextmenu", (event) => event.preventDefault());
    document.addEventListener("keydown", (event) => this.key(event, true));
    document.addEventListener("keyup", (event) => this.key(event, false));
    addEventListener("pagehide", () => this.open && this.end(true));
  }

  key(event, down) {
    const typing = event.target.closest && event.target.closest("input, button:not(#talk), ol, a");
    if (event.key === "Escape" && down) this.ways.interrupt();
    if (event.key !== " " || typing) return;
    event.preventDefault();
    this.byKey = true;
    if (down && !event.repeat) this.pressed();
    if (!down) this.released();
  }

  pressed() {
    this.began = performance.now();
    this.wasOpen = this.open;
    this.ways.interrupt();
    if (!this.open) this.begin();
  }

  released() {
    this.byKey = false;
    const tapped = performance.now() - this.began < TAP_MS;
    if (this.wasOpen || !tapped) setTimeout(() => this.end(), TAIL_MS);
  }

  async begin() {
    if (this.another) return this.ways.tell("Another screen's microphone is in use. Type, or wait.");
    this.open = true;
    this.show();
    if (!(await this.ready())) {
      this.open = false;
      return this.show();
    }
    if (!this.open) return;
    this.ways.send(JSON.stringify({ type: "talk", on: true, rate: this.context.sampleRate }));
    this.sending = true;
    this.before.forEach((piece) => this.ways.send(piece));
    this.before = [];
  }

  end(drop = false) {
    if (!this.open) return;
    this.open = this.sending = false;
    this.ways.send(JSON.stringify({ type: "talk", on: false, drop }));
    this.show();
  }

  async ready() {
    if (this.context) {
      await this.context.resume();
      return true;
    }
    try {
      const sound = { channelCount: 1, echoCancellation: true, noiseSuppression: false, autoGainControl: true };
      const stream = await navigator.mediaDevices.getUserMedia({ audio: sound });
      const context = new AudioContext();
      await context.audioWorklet.addModule("/microphone.js");
      const pieces = new AudioWorkletNode(context, "pieces", { numberOfOutputs: 0 });
      pieces.port.onmessage = (event) => this.piece(event.data);
      context.createMediaStreamSource(stream).connect(pieces);
      stream.getAudioTracks()[0].addEventListener("ended", () => this.unplugged());
      this.context = context;
      return true;
    } catch (error) {
      this.ways.tell(why(error));
      return false;
    }
  }

  piece(buffer) {
    if (this.sending && !this.ways.deaf()) return this.ways.send(buffer);
    this.before.push(buffer);
    if (this.before.length > KEPT_PIECES) this.before.shift();
  }

  unplugged() {
    this.end(true);
    this.context.close();
    this.context = null;
    this.ways.tell("The microphone is gone. Plug it in and press to talk again.");
  }

  lost() {
    this.open = this.sending = false;
    this.another = false;
    this.show();
  }

  refused() {
    this.open = this.sending = false;
    this.show();
  }

  whose(whose) {
    this.another = whose === "another";
    this.show();
  }

  hears(partial) {
    const how = this.button.querySelector("#talk-how");
    this.how = this.how || how.textContent;
    how.textContent = partial ? `… ${partial}` : this.how;
    how.classList.toggle("partial", Boolean(partial));
  }

  show() {
    this.button.setAttribute("aria-pressed", String(this.open));
    this.button.disabled = this.another;
    const words = this.another ? "Another screen talks" : this.open ? "Listening" : "Hold to talk";
    this.button.querySelector("#talk-words").textContent = words;
  }
}

function why(error) {
  if (!navigator.mediaDevices) return "A browser gives its microphone to https pages and to this machine's own only. Type instead.";
  if (error.name === "NotAllowedError") return "The microphone was not allowed. Allow it in the browser's address bar, or type.";
  if (error.name === "NotFoundError") return "There is no microphone. Plug one in, or type.";
  if (error.name === "NotReadableError") return "The microphone is busy in another program. Close that, or type.";
  return `The microphone does not work (${error.name}). Type instead.`;
}
