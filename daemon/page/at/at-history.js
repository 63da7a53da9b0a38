// What happened here: the journal's events of the position and its job, newest first.
import { getJson } from './api.js';
import { el } from './dom.js';
import { figure, hasWord, t } from './words.js';
import { personTitle, pointTitle } from './refusals.js';
import { when } from './at-rows.js';

const WINDOW = 500; // events asked for at once
const PAGE = 15; // rows shown at first, and more at each press

const number = (event) => Number(event.id);

function readingOf(data) {
  if (data.value === undefined) return '';
  return `(${figure(data.value)} ${data.unit ?? ''})`.replace(' )', ')');
}

function valuesOf(ctx, data) {
  const person = (id) => (id ? personTitle(ctx.equipment, id) : '');
  const check = ctx.procedures.get(data.job)?.checks.find((c) => c.check === data.check);
  const passed = data.pass ?? data.result?.pass;
  return {
    by: person(data.by ?? data.person),
    person: person(data.person ?? data.by) || (data.badge ?? ''),
    to: person(data.to ?? data.person),
    point: pointTitle(ctx.equipment, data.point),
    check: check?.ask ?? data.check,
    test: data.test,
    verdict: t(passed ? 'test.pass' : 'test.fail'),
    reading: readingOf(data),
    reason: data.reason ?? '',
    kind: hasWord(`alarm.${data.kind}`) ? t(`alarm.${data.kind}`) : data.kind,
    state: data.state ? t(`point.${data.state}`) : '',
  };
}

export function sentenceOf(ctx, event) {
  const type = event.type.replace(/^forelock\./, '');
  const failed = type === 'check.signed' && event.data.pass === false;
  const key = failed ? 'event.check.failed' : `event.${type}`;
  if (!hasWord(key)) return t('event.other', { type });
  return t(key, valuesOf(ctx, event.data)).replace(/\s+/g, ' ').trim();
}

export class History {
  #events = new Map();
  #oldest = null; // the number up to which everything before is still unread
  #shown = PAGE;
  #lost = false;
  #reading = false;
  #begun = -1;

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

  // The events that concern the position or its job, newest first.
  #mine(job) {
    return [...this.#events.values()]
      .filter((e) => e.subject === this.position || (job && e.data.job === job.job))
      .sort((a, b) => number(b) - number(a));
  }

  // Who stopped each job last, and why, in their words.
  stops() {
    const out = new Map();
    for (const { type, data, time } of this.#mine(null).reverse())
      if (type === 'forelock.work.stopped' && data.reason)
        out.set(data.job, { by: data.by ?? data.person, reason: data.reason, at: time });
    return out;
  }

  section(ctx) {
    const mine = this.#mine(ctx.job);
    const rows = mine
      .slice(0, this.#shown)
      .map((e) =>
        el('li', {}, el('time', { datetime: e.time }, when(ctx, e.time)), ' ', sentenceOf(ctx, e)),
      );
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
