// Runs on the audio thread: gathers the microphone's samples into pieces of about 20 ms of 16-bit mono and posts them.
class Pieces extends AudioWorkletProcessor {
  constructor() {
    super();
    this.piece = new Int16Array(Math.round(sampleRate / 50));
    this.filled = 0;
  }

  process(inputs) {
    const samples = inputs[0][0];
    if (!samples) return true;
    for (const sample of samples) {
      this.piece[this.filled++] = Math.max(-32768, Math.min(32767, Math.round(sample * 32767)));
      if (this.filled === this.piece.length) {
        this.port.postMessage(this.piece.slice().buffer);
        this.filled = 0;
      }
    }
    return true;
  }
}
registerProcessor("pieces", Pieces);
