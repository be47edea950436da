// Collects what the microphone takes into blocks of 16 bits, in the browser's own thread for sound.

class Taking extends AudioWorkletProcessor {
  constructor(options) {
    super();
    this.block = new Int16Array(options.processorOptions.block);
    this.filled = 0;
  }

  process([input]) {
    const samples = input[0];
    if (!samples) return true;
    for (const sample of samples) {
      this.block[this.filled] = Math.round(Math.max(-1, Math.min(1, sample)) * 32767);
      this.filled += 1;
      if (this.filled === this.block.length) {
        this.port.postMessage(this.block.slice().buffer);
        this.filled = 0;
      }
    }
    return true;
  }
}

registerProcessor("taking", Taking);
