// The phone page of one position: puts the live site, the sign, the rows and the buttons together.
import './sign-words.js';
import './at-words.js';
import './at-form-words.js';
import './at-day-words.js';
import { getJson } from './api.js';
import { el } from './dom.js';
import { Gates } from './gates.js';
import { openSite } from './live.js';
import { duration, language, setLanguage, speak, t } from './words.js';
import { alarmsAt, lastEnded, stopAlarms, verdictOf } from './verdict.js';
import { personTitle } from './refusals.js';
import { alarmAction, standing } from './at-actions.js';
import { Answers } from './at-answers.js';
import { formOf } from './at-fields.js';
import { Forms } from './at-forms.js';
import { daySection } from './at-day.js';
import { barSection, verdictSection } from './at-first.js';
import { History } from './at-history.js';
import * as rows from './at-rows.js';
import { Siren } from './at-sound.js';
import { seen } from './at-verdict.js';

const [, , site, position] = location.pathname.split('/').map(decodeURIComponent);
// A button that has just changed under a finger takes no press: the second half of a double tap is
// not an answer to the next question.
const SETTLE_MS = 800;
const HELD_MS = 1500;
const CLICK_MS = 400;

const page = {
  me: null,
  equipment: null,
  procedures: new Map(), // job and phase → what it requires
  kept: new Map(), // action → its form as it was sent and not done: {filled, phase, time}
  level: 'unknown',
  age: null,
  denied: null,
  asking: false,
  quietUntil: 0,
  nextKey: null,
  ringing: false,
  newStop: null, // a stop that came while the page was open and was not silenced yet
  raised: 0, // ms of the newest alarm of a stop
  stoppingUntil: 0, // who stops the work needs no alarm of it
};

const frame = {
  strip: el('header', { id: 'strip' }),
  main: document.getElementById('page'),
  bar: el('footer', {}),
  shout: el('div', { class: 'only-read', role: 'alert' }),
};
document.body.prepend(frame.strip);
document.body.append(frame.bar, frame.shout);

const gates = new Gates(site, () => drawSoon());
const forms = new Forms();
const answers = new Answers(() => draw());
const siren = new Siren(() => draw());
const history = new History(site, position, () => draw());
frame.bar.append(answers.element);

function context() {
  const { state } = live;
  const told = state?.positions[position];
  const job = (told?.job && state.jobs[told.job]) || null;
  const gate = gates.of(position);
  return {
    state,
    position,
    job,
    gate: gate && gate.job === (job?.job ?? null) ? gate : null,
    alarms: state ? alarmsAt(state, position) : [],
    equipment: page.equipment,
    procedures: page.procedures,
    procedure: job ? page.procedures.get(job.job) : null,
    who: standing(page.me, job),
    level: page.denied ? 'dead' : page.level,
    age: page.age,
    asking: page.asking,
    stops: history.stops(),
    failedBeside: (other) => history.failedBeside(other),
    resultOf: (of, record) => history.resultOf(of, record),
    siren,
    silence,
    press,
    mute: (action) => muted(action),
  };
}

function silence() {
  page.newStop = null;
  siren.stop();
  draw();
}

const stopKey = ({ job }) => `${job.job} ${page.raised}`;

// Whether an alarm is for others to see to: a stop that this person called, or may not acknowledge.
const isTheirs = (ctx) => (a) =>
  a.kind === 'stop-called' && (a.by === ctx.who.person || !alarmAction(ctx, a.alarm));

// A stop takes the whole screen while an alarm of it waits for this person, and when it comes.
function urgent(ctx, verdict) {
  const stops = verdict.kind === 'stop';
  const all = stops ? stopAlarms(ctx.state, verdict.job) : [];
  const open = all.filter((a) => a.state !== 'acknowledged');
  const raised = Math.max(page.raised, ...open.map((a) => Date.parse(a.raised)));
  const again = page.kind !== 'stop' || raised > page.raised;
  const came = stops && page.kind && page.kind !== 'not-live' && again;
  page.raised = raised;
  if (came && performance.now() > page.stoppingUntil) page.newStop = stopKey(verdict);
  page.kind = verdict.kind;
  if (!stops) return false;
  ctx.unalarmed = open.every(isTheirs(ctx));
  if (!ctx.unalarmed) page.newStop = null; // it is silenced by its acknowledgement
  return !ctx.unalarmed || page.newStop === stopKey(verdict);
}

// --- Asking ---

// A hazard that somebody saw; a pause is asked for as all else is.
const stops = ({ verb, body }) => verb === 'stop-work' && !body.pause;

function blocked(action) {
  if (stops(action)) return false; // always tries
  return page.asking || page.level !== 'live' || page.denied;
}

// Drawn gray: also while the bar has just changed, and while what may be asked is judged anew. A button
// that was not gray under the finger counts all the same: the daemon decides.
const muted = (action) =>
  blocked(action) ||
  (!stops(action) &&
    (performance.now() < page.quietUntil || !gates.fresh(position)));

function press(action) {
  if (blocked(action)) return;
  if (action.form) {
    if (!page.equipment) return;
    const ctx = context();
    const sent = (more, filled) => send(action, more, filled);
    forms.ask(action, formOf(ctx, action), sent, keptOf(ctx, action));
  } else if (action.confirm) forms.confirm(action, (more) => send(action, more));
  else send(action, {});
}

// What was filled in for an action and not done, while the job is in the phase that it was filled in for.
function keptOf({ job }, { key }) {
  const kept = page.kept.get(key);
  return kept?.phase === (job?.phase ?? null) ? kept : null;
}

// A form that was refused, or did not get through, keeps what was filled in; one that was done does not.
function keep({ key }, filled, { outcome, answer }) {
  if (outcome === 'answered' && answer.accepted) page.kept.delete(key);
  else if (filled && outcome !== 'busy') {
    const ctx = context();
    const phase = ctx.job?.phase ?? null;
    page.kept.set(key, { filled, phase, time: rows.when(ctx, Date.now()) });
  }
}

async function send(action, more, filled = null) {
  if (page.asking && !stops(action)) return;
  page.asking = true;
  if (action.verb === 'stop-work') page.stoppingUntil = performance.now() + 12_000;
  answers.clear();
  draw();
  const result = await live.request(action.verb, { ...action.body, ...more });
  page.asking = false;
  keep(action, filled, result);
  settle();
  answers.tell(action, result, context());
  if (turned(result)) window.scrollTo(0, 0);
  draw();
}

// Whether an answer brought the job to another phase: then the sign is what matters.
const turned = ({ answer }) =>
  answer?.accepted && answer.phase !== null && answer.phase !== context().job?.phase;

function settle() {
  page.quietUntil = performance.now() + SETTLE_MS;
  setTimeout(draw, SETTLE_MS + 20);
}

// --- What else is read ---

async function reading(what) {
  try {
    return await what();
  } catch (error) {
    if ([401, 403, 404].includes(error.status)) return null;
    throw error;
  }
}

let readAgain = null;
let readingNow = false;

async function readAround() {
  clearTimeout(readAgain);
  if (readingNow) return;
  readingNow = true;
  try {
    page.me ??= await getJson('/api');
    page.equipment ??= await getJson(`/api/${encodeURIComponent(site)}/equipment`);
    await readProcedure();
    if (live.state) await history.begin(live.state.after);
    const { job } = context();
    if (job?.phase === 'stopped') await history.seek(job);
    draw();
  } catch {
    readAgain = setTimeout(readAround, 2000);
  }
  readingNow = false;
}

async function readProcedure() {
  const told = live.state?.positions[position];
  const job = told?.job && live.state.jobs[told.job];
  if (!job || page.procedures.has(job.job)) return;
  const path = `/api/${encodeURIComponent(site)}/job/${encodeURIComponent(job.job)}/procedure`;
  const procedure = await reading(() => getJson(path));
  if (procedure) page.procedures.set(job.job, procedure);
}

// --- Drawing ---

// As long before its end a word is to be renewed, or a fifth of its time.
const AGEING_S = 1800;

// So long before it is due a check-in is drawn as what is to be done now.
const CHECK_IN_SOON_S = 300;

const secondsSince = (at) => (Date.now() - Date.parse(at)) / 1000;

function tick(root = document) {
  for (const e of root.querySelectorAll('[data-since]'))
    e.textContent = duration(secondsSince(e.dataset.since));
  for (const e of root.querySelectorAll('[data-point-age]'))
    e.textContent = duration(live.age(e.dataset.pointAge) ?? secondsSince(e.dataset.heard));
  for (const e of root.querySelectorAll('[data-point-left]')) {
    const { pointLeft, heard, valid } = e.dataset;
    const left = Math.max(0, valid - (live.age(pointLeft) ?? secondsSince(heard)));
    e.textContent = duration(left);
    e.classList.toggle('ageing', left <= Math.min(valid / 5, AGEING_S));
  }
  for (const e of root.querySelectorAll('[data-left-until]')) {
    const { leftUntil, valid } = e.dataset;
    const left = Math.max(0, -secondsSince(leftUntil));
    e.textContent = duration(left);
    e.classList.toggle('ageing', left <= Math.min(valid / 5, AGEING_S));
  }
  for (const e of root.querySelectorAll('[data-due]')) {
    const left = -secondsSince(e.dataset.due);
    e.textContent = left > 0 ? t('check-in.left', { left: duration(left) }) : t('check-in.overdue');
    e.classList.toggle('ageing', left <= CHECK_IN_SOON_S);
  }
  for (const e of root.querySelectorAll('[data-news]'))
    e.textContent = ` ${duration(live.liveness.age)}`;
}

// Puts a new part in the place of the old one, unless nothing changed: a screen reader stays where it
// is, and so does the keyboard.
function swap(place, parts) {
  const fresh = parts.flat().filter(Boolean);
  fresh.forEach((part) => tick(part));
  const old = [...place.children].filter((c) => !c.dataset.stays);
  const same = (a, b) => a && b && a.isEqualNode(b);
  if (old.length === fresh.length && fresh.every((part, i) => same(part, old[i]))) return;
  const key = place.contains(document.activeElement) && document.activeElement.dataset.key;
  fresh.forEach((part, i) => {
    if (same(part, old[i])) return;
    if (old[i]) old[i].replaceWith(part);
    else place.append(part);
  });
  for (const gone of old.slice(fresh.length)) gone.remove();
  if (key) place.querySelector(`[data-key="${CSS.escape(key)}"]`)?.focus({ preventScroll: true });
}

// The way back to the board. While a stop fills the screen nothing leads away from it.
function where(ctx, title) {
  const name = [el('b', {}, position), el('span', {}, title)];
  if (ctx.urgent) return el('p', { class: 'where' }, name);
  const back = el('i', { class: 'back', 'aria-hidden': 'true' }, '‹');
  const to = el('span', { class: 'only-read' }, `, ${t('page.board')}`);
  const href = `/board/${encodeURIComponent(site)}`;
  return el('a', { class: 'where', href, 'data-key': 'back' }, back, name, to);
}

function strip(ctx, verdict) {
  const title = page.equipment?.positions.find((p) => p.position === position)?.title ?? '';
  const other = language() === 'en' ? 'es' : 'en';
  const change = () => {
    setLanguage(other);
    speak();
    draw();
  };
  const news = t(`live.${ctx.level}`, { age: duration(page.age) });
  return [
    where(ctx, title),
    el('p', { class: `word ${verdict.kind}`, 'aria-hidden': 'true' }, t(verdict.word)),
    el('p', { class: `news ${ctx.level}` }, el('i', { class: 'dot' }), news),
    el(
      'button',
      { type: 'button', class: 'language', lang: other, 'data-key': 'language', onclick: change },
      t('page.language'),
    ),
  ];
}

function foot(ctx) {
  const me = page.me && personTitle(page.equipment, page.me.person);
  const record = ctx.job ?? (ctx.state && lastEnded(ctx.state, position));
  const job = record && encodeURIComponent(record.job);
  const here = encodeURIComponent(site);
  const holder = ctx.state?.jobs[ctx.state.positions[position]?.with];
  return el(
    'section',
    { id: 'foot' },
    me && el('p', {}, t('page.as', { person: me })),
    el('p', {}, t('caution.try')),
    el('p', {}, t('caution.rated')),
    holder &&
      el(
        'a',
        { class: 'button', href: `/at/${here}/${encodeURIComponent(holder.position)}` },
        t('page.holder', holder),
      ),
    el('a', { class: 'button', href: `/board/${here}` }, t('page.board')),
    job && el('a', { class: 'button', href: `/record/${here}/${job}` }, t('page.record')),
  );
}

function jobLine(ctx) {
  const { job, procedure } = ctx;
  return (
    job &&
    el(
      'p',
      { id: 'job' },
      t('page.job', { job: job.job, title: procedure?.title ?? job.procedure }),
      ` · ${t(`phase.${job.phase}`)}`,
    )
  );
}

function below(ctx) {
  if (!ctx.state || !ctx.equipment) return [];
  return [
    jobLine(ctx),
    rows.alarmsSection(ctx),
    rows.pointsSection(ctx),
    ctx.job && rows.checksSection(ctx),
    ctx.job && rows.testsSection(ctx),
    ctx.job && rows.crewSection(ctx),
    rows.moreSection(ctx),
    daySection(ctx),
    rows.noticesSection(ctx),
    history.section(ctx),
    foot(ctx),
  ];
}

const denied = () =>
  page.denied && el('p', { class: 'denied', role: 'alert' }, t(`denied.${page.denied}`));

// A stop takes the screen: forms are closed, it rings, and the reader's focus goes to its word.
function announce(ctx, verdict) {
  const came = ctx.urgent && !page.ringing;
  page.ringing = ctx.urgent;
  if (!ctx.urgent) siren.stop();
  if (came) {
    forms.dismiss();
    siren.start();
    window.scrollTo(0, 0);
    document.querySelector('#verdict h1')?.focus({ preventScroll: true });
    requestAnimationFrame(draw);
  }
  const said = `${t(verdict.word)}. ${document.querySelector('#verdict .reason, #verdict .say')?.textContent ?? ''}`;
  if (verdict.kind !== page.saidKind || page.saidWord !== verdict.word)
    frame.shout.textContent = said;
  page.saidKind = verdict.kind;
  page.saidWord = verdict.word;
}

// A button that is replaced or moves away under a finger takes no tap. So nothing does, as long as
// the sign stays. On a touch screen the click comes some time after the finger is off, and goes to
// what is there then: the hold lasts until it has come.
let heldUntil = -Infinity;
const held = () => performance.now() < heldUntil;
function hold(ms) {
  heldUntil = performance.now() + ms;
  if (ms < HELD_MS) setTimeout(drawSoon, ms + 10);
}
document.addEventListener('pointerdown', () => hold(HELD_MS), true);
document.addEventListener('pointerup', () => hold(CLICK_MS), true);
for (const name of ['click', 'pointercancel'])
  document.addEventListener(name, () => hold(0), true);

function draw() {
  const ctx = context();
  const verdict = seen(ctx);
  if (held() && verdict.kind === page.kind) return; // drawn when the finger is off
  ctx.urgent = urgent(ctx, verdict);
  tick();
  const next = document.querySelector('#bar .next')?.dataset.key ?? null;
  document.body.className = `${ctx.level} sign-is-${verdict.kind}`;
  document.title = `${t(verdict.word)} · ${position}`;
  swap(frame.strip, strip(ctx, verdict));
  swap(frame.main, [denied(), verdictSection(ctx, verdict), ...below(ctx)]);
  swap(frame.bar, [barSection(ctx, verdict)]);
  sight.disconnect();
  sight.observe(document.querySelector('#verdict h1'));
  const now = document.querySelector('#bar .next')?.dataset.key ?? null;
  if (now !== next && now !== null) {
    settle();
    swap(frame.bar, [barSection(ctx, verdict)]);
  }
  announce(ctx, verdict);
  speak();
}

let drawing = false;

function drawSoon() {
  if (drawing) return;
  drawing = true;
  const go = () => {
    drawing = false;
    draw();
  };
  // A page in the background gets no frames, and an alarm must not wait for one.
  if (document.visibilityState === 'hidden') setTimeout(go, 0);
  else requestAnimationFrame(go);
}

const live = openSite(site, {
  onState(state, why) {
    page.denied = null;
    if (why === 'heard') return tick();
    gates.touch();
    readAround();
    drawSoon();
  },
  onLiveness(level, age) {
    page.level = level;
    page.age = age;
    drawSoon();
  },
  onAlarm(alarm) {
    if (!live.state) return;
    live.state.alarms[alarm.alarm] = alarm;
    const { job } = verdictOf(live.state, position);
    if (job && alarm.job === job.job) draw();
  },
  onEvent(event) {
    history.add(event);
    if (event.type === 'forelock.told.confirmed') gates.touch(); // no document tells of it
    drawSoon();
  },
  onDenied(status) {
    page.denied = status;
    drawSoon();
  },
});

// Once the sign is out of sight, its word stands in the strip.
const sight = new IntersectionObserver((seenNow) => {
  document.documentElement.classList.toggle('scrolled', !seenNow.at(-1).isIntersecting);
});

draw();
gates.want([position]);
readAround();
