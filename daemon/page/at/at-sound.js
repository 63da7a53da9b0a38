// The alarm that is heard and felt. Browsers let a page sound only after somebody has touched it; until
// then the page says that it is silent.
const BEEP_S = 0.35;
const EVERY_MS = 900;
const PULSE = [500, 150, 500];

export class Siren {
  #context = null;
  #timer = null;
  #changed;
  ringing = false;

  constructor(changed) {
    this.#changed = changed;
    const unlock = () => this.#unlock();
    // Not sooner than the click: what the page draws anew must not move away under a finger.
    for (const name of ['click', 'keydown']) document.addEventListener(name, unlock);
  }

  // One that was made before the touch counted, or that did not come up, is thrown away.
  #unlock() {
    const Context = window.AudioContext;
    if (!Context || this.#context?.state === 'running') return;
    if (navigator.userActivation && !navigator.userActivation.isActive) return;
    this.#context?.close().catch(() => {});
    this.#context = new Context();
    this.#context.addEventListener('statechange', this.#changed);
    this.#context.resume().then(this.#changed, () => {});
  }

  // Whether it should ring but cannot be heard.
  get blocked() {
    return this.ringing && this.#context?.state !== 'running';
  }

  start() {
    if (this.ringing) return;
    this.ringing = true;
    this.#beep();
    this.#timer = setInterval(() => this.#beep(), EVERY_MS);
  }

  stop() {
    if (!this.ringing) return;
    this.ringing = false;
    clearInterval(this.#timer);
    if (navigator.userActivation?.hasBeenActive) navigator.vibrate?.(0);
  }

  #beep() {
    if (navigator.userActivation?.hasBeenActive) navigator.vibrate?.(PULSE);
    if (this.#context?.state !== 'running') return;
    const now = this.#context.currentTime;
    const tone = this.#context.createOscillator();
    const gain = this.#context.createGain();
    tone.type = 'square';
    tone.frequency.setValueAtTime(960, now);
    tone.frequency.setValueAtTime(720, now + BEEP_S / 2);
    gain.gain.setValueAtTime(0.5, now);
    tone.connect(gain).connect(this.#context.destination);
    tone.start(now);
    tone.stop(now + BEEP_S);
  }
}
