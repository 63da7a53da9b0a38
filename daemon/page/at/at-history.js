// What happened here: the journal's events of the position and its job, newest first.
import { getJson } from './api.js';
import { el } from './dom.js';
import { figure, resultWords, shown, testResult, withUnit } from './numbers.js';
import { hasWord, t } from './words.js';
import { personTitle, pointTitle, wasSentence } from './refusals.js';
import { when } from './at-rows.js';
import { testTitle } from './at-tests.js';

const WINDOW = 500; // events asked for at once
const PAGE = 15; // rows shown at first, and more at each press

const number = (event) => Number(event.id);

function readingOf(ctx, data) {
  if (data.result) {
    const test = ctx.procedures.get(data.job)?.tests.find((x) => x.test === data.test);
    const words = resultWords(testResult(data.result, test));
    return words && `(${words})`;
  }
  if (data.value === undefined || data.value === null) return '';
  return `(${withUnit(shown(data.value), data.unit)})`;
}

function causeOf({ cause, why, with: job }) {
  const key = `cause.${why === 'test-failed' ? why : cause}`;
  return hasWord(key) ? t(key, { with: job ?? '?' }) : '';
}

const readerOf = (ctx, { reader, point }) =>
  reader === point && point ? t('reader.of', { point: pointTitle(ctx.equipment, point) }) : '';

// What the ledger of a product comes to, as it stood then.
const fuelOf = ({ product, sum }) =>
  t('day.fuel', {
    product,
    drawn: withUnit(figure(sum.drawn), sum.unit),
    returned: withUnit(figure(sum.returned), sum.unit),
    kept: withUnit(figure(sum.kept), sum.unit),
  });

function valuesOf(ctx, data) {
  const person = (id) => (id ? personTitle(ctx.equipment, id) : '');
  const check = ctx.procedures.get(data.job)?.checks.find((c) => c.check === data.check);
  const passed = data.pass ?? data.result?.pass ?? null;
  const word = passed === null ? 'test.borderline' : passed ? 'test.pass' : 'test.fail';
  return {
    by: person(data.by ?? data.person),
    person: person(data.person ?? data.by) || (data.badge ?? ''),
    to: person(data.to ?? data.person),
    point: pointTitle(ctx.equipment, data.point),
    sensor: data.sensor ?? readerOf(ctx, data),
    check: check?.ask ?? data.check,
    test: data.test && testTitle(ctx, data.test),
    verdict: t(word),
    reading: readingOf(ctx, data),
    // The daemon's own reason is English; its code says the same.
    reason: ((data.by ?? data.person) && data.reason) || '',
    why: wasSentence(data.why, pointTitle(ctx.equipment, data.point)) ?? '',
    text: data.text,
    spill: data.spill,
    reference: data.reference,
    product: data.product,
    amount: data.quantity === undefined ? '' : withUnit(figure(data.quantity), data.unit),
    part: [data.part, data.family, data.serial].filter(Boolean).join(', '),
    fuel: data.sum ? fuelOf(data) : '',
    title: data.title,
    expected: data.expected ? when(ctx, data.expected) : '',
    note: data.note ? `“${data.note}”` : '',
    kind: hasWord(`alarm.${data.kind}`) ? t(`alarm.${data.kind}`) : data.kind,
    cause: causeOf(data),
    state: data.state ? t(`point.${data.state}`) : '',
  };
}

// Signed by a person or answered by a measure, within limits or outside.
const signedAs = ({ by, person, pass }) =>
  `check.${(by ?? person) ? '' : 'measured-'}${pass === false ? 'failed' : 'signed'}`;

// What an event is told as: `before` are the job's earlier events, the newest first. Whose locks come off
// when the work is over was protected as long as anybody worked.
const OVER = ['forelock.work.finished', 'forelock.test.begun'];
const GOES_ON = ['forelock.work.started', 'forelock.work.stopped', 'forelock.work.reopened'];

function toldAs({ type, data }, before) {
  const name = type.replace(/^forelock\./, '');
  if (name === 'check.signed') return signedAs(data);
  const last = before.find((e) => e.data.job === data.job && [...OVER, ...GOES_ON].includes(e.type));
  return name === 'crew.unprotected' && OVER.includes(last?.type) ? 'crew.locks-off' : name;
}

export function sentenceOf(ctx, event, before = []) {
  const type = event.type.replace(/^forelock\./, '');
  const key = `event.${toldAs(event, before)}`;
  if (!hasWord(key)) return t('event.other', { type });
  return t(key, valuesOf(ctx, event.data)).replace(/\s+/g, ' ').replace(/:? $/, '');
}

// What stopped each job last, of events from the oldest on: {by, reason, at} of who said so, or of a
// break, which nobody says, {why, point, at}: its point is told by the break that came with it.
export function stopsIn(events) {
  const out = new Map();
  const points = new Map();
  for (const { type, data, time } of events) {
    const by = data.by ?? data.person;
    if (type === 'forelock.lockout.broken') points.set(data.job, { point: data.point, at: data.at });
    if (type !== 'forelock.work.stopped') continue;
    const broken = points.get(data.job);
    const paused = data.pause ? { pause: true } : {};
    const point = broken?.at === data.at ? broken?.point : undefined;
    out.set(data.job, by ? { by, reason: data.reason, ...paused, at: time } : { why: data.why, point, at: time });
  }
  return out;
}

export class History {
  #events = new Map();
  #oldest = null; // the number up to which everything before is still unread
  #shown = PAGE;
  #lost = false;
  #reading = false;
  #begun = -1;
  #far = new Map(); // single events from before what was read
  #sought = null;

  constructor(site, position, changed) {
    Object.assign(this, { site, position, changed });
  }

  // Reads the window before a snapshot's number, once for each snapshot: what follows is streamed.
  async begin(after) {
    if (after <= this.#begun) return;
    if (await this.#read(Math.max(0, after - WINDOW), after)) this.#begun = after;
  }

  async #read(from, to) {
    if (this.#reading) return false;
    this.#reading = true;
    try {
      const path = `/api/${encodeURIComponent(this.site)}/events?after=${from}&limit=1000`;
      for (const event of await getJson(path)) if (number(event) <= to) this.#keep(event);
      this.#oldest = Math.min(this.#oldest ?? Infinity, from);
      this.#lost = false;
    } catch {
      this.#lost = true;
    }
    this.#reading = false;
    this.changed();
    return !this.#lost;
  }

  #keep(event) {
    this.#events.set(number(event), event);
  }

  add(event) {
    this.#keep(event);
  }

  async #older() {
    this.#shown += PAGE;
    if (this.#mine(null).length < this.#shown && this.#oldest > 0)
      await this.#read(Math.max(0, this.#oldest - WINDOW), this.#oldest);
    this.changed();
  }

  // Finds who stopped a job, where that is further back than what was read: at the time since which
  // the job is stopped. Numbers grow with time, so halving finds the place in a few questions.
  async seek({ job, since }) {
    if (this.#sought === since || this.#begun < 0 || this.stops().has(job)) return;
    this.#sought = since;
    try {
      const window = await this.#around(Date.parse(since));
      window.filter((e) => e.data.job === job).forEach((e) => this.#far.set(number(e), e));
      this.changed();
    } catch {
      this.#sought = null; // asked again with the next news
    }
  }

  async #around(instant) {
    const path = (after, limit) =>
      `/api/${encodeURIComponent(this.site)}/events?after=${after}&limit=${limit}`;
    let [low, high] = [0, this.#oldest ?? 0];
    while (high - low > WINDOW / 5) {
      const middle = Math.floor((low + high) / 2);
      const [event] = await getJson(path(middle, 1));
      if (event && Date.parse(event.time) < instant - 1000) low = middle;
      else high = middle;
    }
    return getJson(path(low, WINDOW));
  }

  // The events that concern the position or its job, newest first.
  #mine(job) {
    return [...this.#events.values()]
      .filter((e) => e.subject === this.position || (job && e.data.job === job.job))
      .sort((a, b) => number(b) - number(a));
  }

  // What stopped each job last.
  stops() {
    return stopsIn([...this.#far.values(), ...this.#mine(null).reverse()]);
  }

  // The result of a test's record, where its event was read; null where it was not, or has none.
  resultOf({ job }, { test, at }) {
    const made = (e) => e.type === 'forelock.test.recorded' && e.data.job === job;
    const found = [...this.#events.values()].find(
      (e) => made(e) && e.data.test === test && e.data.at === at,
    );
    return found?.data.result ?? null;
  }

  // Whether this position is out because of a test that failed in its cabinet.
  failedBeside(job) {
    const [last] = this.#mine(null).filter((e) => e.type === 'forelock.position.out-of-service');
    return last?.data.with === job && last.data.why === 'test-failed';
  }

  section(ctx) {
    const mine = this.#mine(ctx.job);
    const rows = mine
      .slice(0, this.#shown)
      .map((e, i) => {
        const sentence = sentenceOf(ctx, e, mine.slice(i + 1));
        return el('li', {}, el('time', { datetime: e.time }, when(ctx, e.time)), ' ', sentence);
      });
    const more = mine.length > this.#shown || this.#oldest > 0;
    const empty = t(this.#lost ? 'page.history-lost' : 'page.no-history');
    return el(
      'section',
      { id: 'history', class: 'rows' },
      el('h2', {}, t('page.history')),
      rows.length > 0 ? el('ol', {}, rows) : el('p', {}, empty),
      more &&
        el(
          'button',
          { type: 'button', class: 'row', 'data-key': 'older', onclick: () => this.#older() },
          t('page.older'),
        ),
    );
  }
}
