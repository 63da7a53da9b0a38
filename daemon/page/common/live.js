// One site, live: a snapshot, kept up by the stream's documents. The stream is opened first, so that
// nothing falls between the two; after every gap the snapshot is fetched anew. Until it is here, pulses
// count for nothing: they would vouch for a picture that has holes.
import { ask, getJson } from './api.js';
import { Liveness } from './liveness.js';

const LISTS = { position: 'positions', point: 'points', job: 'jobs', alarm: 'alarms' };
const TICK_MS = 250;
const REOPEN_MS = [500, 1000, 2000, 4000];
const SILENCE_MS = 8000; // a stream that says nothing for so long is opened anew

const byId = (list, key) => Object.fromEntries((list ?? []).map((d) => [d[key], d]));

// What a page works on: documents by their ids.
function stateOf(snapshot) {
  const state = { ...snapshot, ages: {}, agesAt: 0 };
  for (const [kind, list] of Object.entries(LISTS)) state[list] = byId(snapshot[list], kind);
  return state;
}

// Changes the state by one `document` event; false if it is of no kind that is known.
export function applyDocument(state, { path, document }) {
  const [kind, id, more] = path.split('/');
  const list = LISTS[kind];
  if (!list || !id || more !== undefined) return false;
  if (document === null) delete state[list][id];
  else state[list][id] = document;
  return true;
}

class Site {
  state = null;
  #site;
  #on;
  #alive = new Liveness();
  #stream = null;
  #waiting = []; // documents that came before the snapshot they belong to
  #synced = false;
  #fetching = 0;
  #tries = 0;
  #quietSince = 0;
  #asking = new Set();
  #told = '';
  #closed = false;
  #timer;
  #retry;
  #wake = () => this.#woken();

  constructor(site, handlers) {
    this.#site = site;
    this.#on = handlers;
    document.addEventListener('visibilitychange', this.#wake);
    window.addEventListener('pageshow', this.#wake);
    window.addEventListener('online', this.#wake);
    this.#timer = setInterval(() => this.#tick(), TICK_MS);
    this.#open();
  }

  #path(rest = '') {
    return `/api/${encodeURIComponent(this.#site)}${rest}`;
  }

  #open() {
    clearTimeout(this.#retry);
    this.#stream?.close();
    this.#synced = false;
    this.#waiting = [];
    this.#quietSince = performance.now();
    const stream = new EventSource(this.#path('/stream'));
    this.#stream = stream;
    const on = (name, take) =>
      stream.addEventListener(name, (event) => {
        if (stream !== this.#stream) return;
        this.#quietSince = performance.now();
        take(event);
      });
    on('open', () => this.#opened());
    on('heard', (event) => this.#heard(JSON.parse(event.data)));
    on('document', (event) => this.#document(JSON.parse(event.data)));
    on('alarm', (event) => this.#on.onAlarm?.(JSON.parse(event.data)));
    on('message', (event) => this.#on.onEvent?.(JSON.parse(event.data)));
    stream.addEventListener('error', () => stream === this.#stream && this.#lost(stream));
  }

  // The browser opens a broken stream again by itself, but for one that was refused.
  #lost(stream) {
    this.#synced = false;
    this.#tick();
    if (stream.readyState !== EventSource.CLOSED) return;
    this.#later(() => this.#open());
    this.#askWhy();
  }

  #later(what) {
    const wait = REOPEN_MS[Math.min(this.#tries++, REOPEN_MS.length - 1)];
    clearTimeout(this.#retry);
    this.#retry = setTimeout(() => !this.#closed && what(), wait);
  }

  // A stream does not say why it was refused; a plain question does.
  async #askWhy() {
    try {
      await getJson('/api');
    } catch (error) {
      if (error.status === 401) this.#on.onDenied?.(401);
    }
  }

  #opened() {
    this.#alive.opened();
    this.#synced = false;
    this.#waiting = [];
    this.#fetch();
  }

  async #fetch() {
    const mine = ++this.#fetching;
    try {
      const snapshot = await getJson(this.#path());
      if (mine !== this.#fetching || this.#closed) return;
      this.#tries = 0;
      this.#take(snapshot);
    } catch (error) {
      if (mine !== this.#fetching || this.#closed) return;
      if ([401, 403, 404].includes(error.status)) this.#on.onDenied?.(error.status);
      this.#later(() => this.#open());
    }
  }

  #take(snapshot) {
    const ages = this.state;
    this.state = stateOf(snapshot);
    if (ages) Object.assign(this.state, { ages: ages.ages, agesAt: ages.agesAt });
    for (const event of this.#waiting)
      if (event.after >= snapshot.after) applyDocument(this.state, event);
    this.#waiting = [];
    this.#synced = true;
    this.#alive.pulse(Date.parse(snapshot.at));
    this.#on.onState?.(this.state, 'snapshot');
    this.#tick();
  }

  #document(event) {
    if (!this.#synced) this.#waiting.push(event);
    else if (applyDocument(this.state, event)) this.#on.onState?.(this.state, event.path);
  }

  #heard({ at, ages }) {
    if (!this.#synced) return;
    this.state.ages = ages;
    this.state.agesAt = performance.now();
    this.#alive.pulse(Date.parse(at));
    this.#tick();
    this.#on.onState?.(this.state, 'heard');
  }

  #tick() {
    const { level, age } = this.#alive.read();
    const word = `${level} ${age === null ? '' : Math.floor(age)}`;
    if (word !== this.#told) {
      this.#told = word;
      this.#on.onLiveness?.(level, age);
    }
    if (performance.now() - this.#quietSince > SILENCE_MS) this.#open();
  }

  // The phone was asleep, the page was away, the network is back: look at once, and fetch anew.
  #woken() {
    if (document.visibilityState === 'hidden') return;
    this.#tick();
    if (this.#alive.read().level !== 'live') this.#open();
  }

  get liveness() {
    return this.#alive.read();
  }

  // Seconds since a point was heard, counting on from the last pulse; null if never.
  age(point) {
    const age = this.state?.ages?.[point];
    if (age === undefined || age === null) return null;
    return age + (performance.now() - this.state.agesAt) / 1000;
  }

  // Asks for something, see ask(). A second press of the same while one is under way is `busy`.
  async request(verb, body, options) {
    const what = `${verb} ${JSON.stringify(body)}`;
    if (this.#asking.has(what)) return { outcome: 'busy' };
    this.#asking.add(what);
    try {
      return await ask(this.#site, verb, body, options);
    } finally {
      this.#asking.delete(what);
    }
  }

  close() {
    this.#closed = true;
    clearInterval(this.#timer);
    clearTimeout(this.#retry);
    this.#stream?.close();
    document.removeEventListener('visibilitychange', this.#wake);
    window.removeEventListener('pageshow', this.#wake);
    window.removeEventListener('online', this.#wake);
  }
}

// Opens a site. Handlers, all optional: onState(state, why) with why 'snapshot', 'heard' or the path of
// a document; onLiveness(level, age) at every second that passes; onAlarm(document) at once;
// onEvent(cloudEvent); onDenied(status).
export const openSite = (site, handlers) => new Site(site, handlers);
