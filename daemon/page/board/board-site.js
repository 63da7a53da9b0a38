// The board of one site: its documents, live, and everything drawn from them.
import { getJson } from './api.js';
import { countAll, counting, figureBox, languages } from './board-frame.js';
import { accepted, outcomeLines } from './board-acts.js';
import { alarms, outages, waits } from './board-parts.js';
import { Past, patterns } from './board-timeline.js';
import { askedOf, countsOf, stands, touchedBy } from './board-state.js';
import { forecourt, heardWord, notices } from './board-forecourt.js';
import { hangs } from './board-hangs.js';
import { el, replace } from './dom.js';
import { Gates } from './gates.js';
import { openSite } from './live.js';
import { sign } from './signs.js';
import { duration, language, t } from './words.js';

const NOTICES_MS = 60_000;
const MONTH_MS = 30 * 24 * 3600 * 1000;
const AGAIN_MS = 5000;
const SAID_MS = 20_000;

class Board {
  equipment = null;
  required = {}; // what each standing job's procedure requires
  usual = null;
  notices = [];
  skew = 0; // the daemon's clock less ours, ms
  asking = new Set();
  said = new Map();
  level = 'unknown';
  #drawing = false;
  #fetching = new Set();

  constructor(root, me, site) {
    Object.assign(this, { root, me, site });
    const mine = me.sites.find((s) => s.site === site);
    this.title = mine?.title ?? site;
    this.zone = mine?.time_zone ?? 'UTC';
    this.top = el('header', { class: 'top' });
    this.banner = el('div', { class: 'banner-place', role: 'alert' });
    this.main = el('div', { class: 'now' });
    this.spoken = el('p', { class: 'only-read', role: 'status' });
    this.past = new Past(site, this.zone);
    this.gates = new Gates(site, () => this.render());
    this.foot = el('p', { class: 'caution' });
    root.replaceChildren(
      this.banner,
      this.top,
      el('main', {}, this.main, this.past.holder, this.foot),
      this.spoken,
      patterns(),
    );
    this.#listen();
    this.render();
    this.#readEquipment();
    this.#readUsual();
    setInterval(() => this.#readNotices(), NOTICES_MS);
    setInterval(() => this.#tick(), 1000);
  }

  #listen() {
    this.live = openSite(this.site, {
      onState: (state, why) => this.#changed(state, why),
      onLiveness: (level, age) => this.#lives(level, age),
      onAlarm: (alarm) => this.#alarm(alarm),
      onDenied: (status) => {
        this.denied = status;
        this.render();
      },
    });
  }

  get state() {
    return this.live?.state ?? null;
  }

  // Whether who looks may ask a verb at a position, of one thing where `fits` says so. True also
  // while that is judged anew: `sure` says whether it is.
  may(position, verb, fits = () => true) {
    const gate = this.gates.of(position);
    const same = gate && gate.job === (this.state.positions[position]?.job ?? null);
    return Boolean(same && gate.choices.some((c) => c.verb === verb && fits(c)));
  }

  sure(position) {
    return this.reliable && this.gates.fresh(position);
  }

  // A position whose gate says that a verb may be asked; null: none does.
  from(verb, fits) {
    return askedOf(this.state).find((p) => this.may(p, verb, fits)) ?? null;
  }

  // Nothing is asked on the ground of what may be old.
  get reliable() {
    return this.level === 'live' || this.level === 'late';
  }

  // --- Reading ---

  async #readEquipment() {
    try {
      this.equipment = await getJson(`/api/${encodeURIComponent(this.site)}/equipment`);
      this.zone = this.past.zone = this.equipment.time_zone;
      this.title = this.equipment.title;
      this.past.render();
      this.render();
    } catch {
      setTimeout(() => this.#readEquipment(), AGAIN_MS);
    }
  }

  async #readUsual() {
    const from = new Date(Date.now() - MONTH_MS).toISOString();
    const query = new URLSearchParams({ from });
    try {
      const path = `/api/${encodeURIComponent(this.site)}/downtime?${query}`;
      this.usual = (await getJson(path, { timeout: 60_000 })).repairs;
      this.render();
    } catch {
      setTimeout(() => this.#readUsual(), AGAIN_MS * 6);
    }
  }

  async #readNotices() {
    try {
      const snapshot = await getJson(`/api/${encodeURIComponent(this.site)}`);
      this.#takeNotices(snapshot);
      this.render();
    } catch {
      // the notices grow old, and say so
    }
  }

  #takeNotices(snapshot) {
    this.notices = snapshot.notices ?? [];
    this.noticesAt = Date.now();
    this.skew = this.past.skew = Date.parse(snapshot.at) - Date.now();
  }

  async #readRequired(job) {
    if (this.#fetching.has(job)) return;
    this.#fetching.add(job);
    const path = `/api/${encodeURIComponent(this.site)}/job/${encodeURIComponent(job)}/procedure`;
    try {
      this.required[job] = await getJson(path);
      this.render();
    } catch {
      setTimeout(() => this.#fetching.delete(job), AGAIN_MS);
      return;
    }
    this.#fetching.delete(job);
  }

  // --- Changes ---

  #changed(state, why) {
    if (why === 'heard') return;
    if (why === 'snapshot') this.#takeNotices(state);
    this.gates.want(askedOf(state));
    this.gates.touch((why !== 'snapshot' && touchedBy(why, state, this.equipment)) || undefined);
    for (const job of Object.values(state.jobs))
      if (stands(job) && (why === 'snapshot' || !this.required[job.job]))
        this.#readRequired(job.job);
    if (why === 'snapshot' || why.startsWith('position/')) this.past.changed();
    this.render();
  }

  // Ahead of the disk: the document follows, but nobody waits for it.
  #alarm(alarm) {
    if (!this.state) return;
    if (alarm.kind) this.state.alarms[alarm.alarm] = alarm;
    this.spoken.textContent = `${t('alarms.title')}: ${t(`alarm.${alarm.kind}`)}`;
    this.render();
  }

  #lives(level, age) {
    const before = this.level;
    this.level = level;
    this.silence = age;
    if (level !== before) this.render();
    else this.#drawLiveness();
  }

  // Sends what a press asks, and says beside the button what came of it.
  async press(key, verb, body) {
    this.asking.add(key);
    this.said.delete(key);
    this.render();
    const result = await this.live.request(verb, body);
    this.asking.delete(key);
    if (!accepted(result)) {
      this.said.set(key, outcomeLines(result, this.equipment));
      setTimeout(() => this.said.delete(key) && this.render(), SAID_MS);
    } else this.spoken.textContent = t('act.done');
    this.render();
  }

  ask(verb, body) {
    if (!this.reliable) return { outcome: 'lost' };
    return this.live.request(verb, body);
  }

  // --- Drawing ---

  #tick() {
    countAll(this.root, Date.now());
    this.#clock();
    for (const node of this.main.querySelectorAll('.heard[data-point]'))
      node.textContent = heardWord(this, node.dataset.point);
  }

  #clock() {
    const node = this.top.querySelector('.clock');
    if (!node) return;
    const options = { hour: '2-digit', minute: '2-digit', hourCycle: 'h23', timeZone: this.zone };
    node.textContent = new Date(Date.now() + this.skew).toLocaleTimeString(language(), options);
  }

  // Many documents may come at once; they are drawn once.
  render() {
    if (this.#drawing) return;
    this.#drawing = true;
    queueMicrotask(() => {
      this.#drawing = false;
      this.#draw();
    });
  }

  #drawLiveness() {
    const node = this.top.querySelector('.liveness');
    if (!node) return;
    const age = duration(this.silence);
    replace(
      node,
      el('span', { class: 'dot', 'aria-hidden': 'true' }),
      t(`live.${this.level}`, { age }),
    );
  }

  #counts() {
    if (!this.state) return null;
    const c = countsOf(
      this.state,
      this.equipment?.positions.map((p) => p.position),
    );
    const all = this.equipment?.positions.length ?? Object.keys(this.state.positions).length;
    return el(
      'ul',
      { class: 'figures' },
      figureBox('outs', c.outs, t('count.outs'), t('count.of', { n: all })),
      ['working', 'stopped', 'testing', 'unknown'].map((kind) =>
        kind === 'unknown' && !c.unknown ? null : figureBox(kind, c[kind], t(`count.${kind}`)),
      ),
      figureBox('alarms', c.alarms, t(c.alarms === 1 ? 'count.alarm' : 'count.alarms')),
      c.oldest
        ? el(
            'li',
            { class: 'figure figure-oldest' },
            el('b', {}, counting(c.oldest - this.skew)),
            ' ',
            el('span', {}, t('count.oldest')),
          )
        : null,
    );
  }

  // Touched only when it says something else, so that it is read out once.
  #drawBanner() {
    const known = this.level === 'live' || this.level === 'late' ? this.level : 'dead';
    const unread = this.level === 'unknown' ? 'unknown' : known;
    const said = `${unread} ${language()}`;
    if (said === this.bannerSaid) return;
    this.bannerSaid = said;
    const text = [sign(known === 'late' ? 'late' : 'not-live'), t(`state.${unread}`)];
    replace(
      this.banner,
      known === 'live' ? null : el('p', { class: `banner banner-${known}` }, text),
    );
  }

  #head() {
    const several = this.me.sites.length > 1;
    return [
      el(
        'div',
        { class: 'head' },
        el(
          'div',
          { class: 'head-title' },
          several
            ? el('a', { class: 'button', href: '/board', 'data-key': 'all' }, t('board.all'))
            : null,
          el('h1', {}, this.title),
        ),
        el('p', { class: `liveness liveness-${this.level}`, 'aria-live': 'off' }),
        el(
          'p',
          { class: 'time' },
          el('span', { class: 'only-read' }, t('board.clock')),
          el('span', { class: 'clock' }),
        ),
        languages(() => {
          this.past.render();
          this.render();
        }),
      ),
      this.#counts(),
    ];
  }

  #body() {
    if (this.denied) return el('p', { role: 'alert' }, t(`board.denied-${this.denied}`));
    if (!this.state) return el('p', {}, t('board.loading'));
    return el(
      'div',
      { class: 'sides' },
      el('div', {}, alarms(this), waits(this), outages(this)),
      el('div', {}, forecourt(this), hangs(this), notices(this)),
    );
  }

  #draw() {
    const counts = this.state ? countsOf(this.state) : null;
    document.body.className =
      this.level === 'live' ? 'live' : this.level === 'late' ? 'late' : 'dead';
    document.title = [
      this.level === 'dead' ? t('live.dead') : null,
      counts?.alarms
        ? `${counts.alarms} ${t(counts.alarms === 1 ? 'count.alarm' : 'count.alarms')}`
        : null,
      counts ? t('title.outs', { n: counts.outs }) : null,
      this.title,
    ]
      .filter(Boolean)
      .join(' · ');
    this.#drawBanner();
    replace(this.top, this.#head());
    this.#drawLiveness();
    this.#clock();
    replace(this.main, this.#body());
    replace(this.foot, sign('caution'), t('caution.try'));
  }
}

export const openBoard = (root, me, site) => new Board(root, me, site);
