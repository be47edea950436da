// The browser's loudspeaker and microphone, for the guide's mouth and ear.

const BLOCK = 2048;
const HEAD = 12;
const AHEAD = 0.05;

export class Voice {
  constructor(send, sendSound, stopped) {
    this.send = send;
    this.sendSound = sendSound;
    this.stopped = stopped;
    this.context = null;
    this.rate = 0;
    this.why = "";
    this.ready = false;
    this.playing = new Set();
    this.next = 0;
  }

  /** Begins, from a touch; the guide is told what there is. */
  async start() {
    this.context = new AudioContext();
    await this.context.resume();
    try {
      await this.listen();
    } catch (fault) {
      this.rate = 0;
      this.why = fault.name;
    }
    this.ready = true;
    this.here();
  }

  async listen() {
    const wanted = { channelCount: 1, echoCancellation: true, noiseSuppression: false, autoGainControl: true };
    const stream = await navigator.mediaDevices.getUserMedia({ audio: wanted });
    await this.context.audioWorklet.addModule("worklet.js");
    const taking = new AudioWorkletNode(this.context, "taking", { numberOfOutputs: 0, processorOptions: { block: BLOCK } });
    taking.port.onmessage = (event) => this.sendSound(event.data);
    this.context.createMediaStreamSource(stream).connect(taking);
    this.rate = this.context.sampleRate;
    stream.getAudioTracks()[0].addEventListener("ended", () => {
      this.rate = 0;
      this.here();
      this.stopped();
    });
  }

  /** Tells the guide what there is, also after a lost connection. */
  here() {
    this.send({ kind: "sound", rate: this.rate, why: this.why });
  }

  /** Goes on after a sleep. */
  async wake() {
    if (this.context?.state === "suspended" || this.context?.state === "interrupted") await this.context.resume();
  }

  /** Plays a piece of a speech behind what plays: number, rate, whether it is the last; then samples of 16 bits. */
  play(data) {
    const head = new DataView(data);
    const [id, rate, last] = [0, 4, 8].map((at) => head.getUint32(at, true));
    const samples = new Int16Array(data, HEAD);
    const buffer = this.context.createBuffer(1, Math.max(1, samples.length), rate);
    const channel = buffer.getChannelData(0);
    for (let i = 0; i < samples.length; i += 1) channel[i] = samples[i] / 32768;
    const source = this.context.createBufferSource();
    source.buffer = buffer;
    source.connect(this.context.destination);
    this.next = Math.max(this.next, this.context.currentTime + AHEAD);
    source.start(this.next);
    this.next += buffer.duration;
    this.playing.add(source);
    source.addEventListener("ended", () => {
      if (this.playing.delete(source) && last) this.send({ kind: "played", id, how: "done" });
    });
  }

  /** Stops at once. */
  quiet() {
    for (const source of this.playing) source.stop();
    this.playing.clear();
    this.next = 0;
  }
}
