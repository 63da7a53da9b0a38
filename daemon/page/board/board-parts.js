// The upper parts of a site's board: alarms, what waits for who looks, and what is out.
import { needsMore, askAssign, askCancel, askDone, askOpen, askSign } from './board-acts.js';
import { counting } from './board-frame.js';
import { STEPS, alarmsOf, outagesOf, stepOf, viewOf, waitsFor } from './board-state.js';
import { el } from './dom.js';
import {
  alarmSentence,
  personTitle,
  pointTitle,
  positionTitle,
  refusalSentence,
  wasSentence,
  whySentence,
} from './refusals.js';
import { sign } from './signs.js';
import { stillSo } from './verdict.js';
import { clockTime, duration, hasWord, t } from './words.js';

const MISSING_SHOWN = 3;

const path = (...parts) => `/${parts.map(encodeURIComponent).join('/')}`;
const title = (id, word, ...more) => el('h2', { id, tabindex: '-1' }, t(word), ...more);

// A button that asks at once; it is off while it is not sure that it may be asked, and while it asks.
function pressButton(board, key, label, longer, press, sure) {
  return el(
    'button',
    {
      type: 'button',
      class: 'press',
      'data-key': key,
      'aria-label': longer,
      disabled: !sure || board.asking.has(key),
      onclick: press,
    },
    board.asking.has(key) ? t('act.sending') : label,
  );
}

const answerOf = (board, key) =>
  board.said.has(key)
    ? el(
        'div',
        { class: 'said', role: 'alert' },
        board.said.get(key).map((line) => el('p', {}, line)),
      )
    : null;

// --- Alarms ---

const alarmWord = (alarm) =>
  hasWord(`alarm.${alarm.kind}`) ? t(`alarm.${alarm.kind}`) : alarm.kind;

function whereOf(board, alarm) {
  const position = alarm.position ?? board.state.jobs[alarm.job]?.position;
  const parts = [
    position && positionTitle(board.equipment, position),
    alarm.point && `${alarm.point}`,
    alarm.job && `${t('outs.job')} ${alarm.job}`,
  ].filter(Boolean);
  return parts.length ? parts.join(' · ') : t('alarms.whole-site');
}

// The reason of a break in words, as what is so or as what was so when it was raised.
function whyOf(board, alarm) {
  if (alarm.kind !== 'lockout-broken')
    return el('p', {}, alarmSentence(alarm, board.equipment));
  const sentence = stillSo(board.state, alarm) ? whySentence : wasSentence;
  const why = sentence(alarm.why, alarm.point && pointTitle(board.equipment, alarm.point));
  return why && el('p', {}, why);
}

// What is acknowledged is what was seen: another cause that comes meanwhile is another raising.
function acknowledge(board, key, { alarm, raised }, title) {
  const asksNote = board.from('acknowledge-alarm', (c) => c.alarm === alarm && c.note);
  if (asksNote) askDone(board, { alarm, raised }, title);
  else board.press(key, 'acknowledge-alarm', { alarm, raised });
}

function alarmItem(board, alarm) {
  const key = `alarm ${alarm.alarm}`;
  const open = alarm.state !== 'acknowledged';
  const longer = t('alarms.acknowledge-of', { alarm: alarmWord(alarm) });
  const from = open ? board.from('acknowledge-alarm', (c) => c.alarm === alarm.alarm) : null;
  return el(
    'li',
    { class: `alarm ${open ? 'on-danger' : 'seen'}`, 'data-alarm': alarm.alarm },
    sign(open ? 'danger' : 'warning'),
    el(
      'div',
      { class: 'alarm-words' },
      el('h3', {}, alarmWord(alarm)),
      el('p', { class: 'where' }, whereOf(board, alarm)),
      whyOf(board, alarm),
      el(
        'p',
        {},
        t('alarms.since', { time: clockTime(alarm.raised, board.zone) }),
        ' (',
        counting(Date.parse(alarm.raised) - board.skew),
        `) · ${t(`alarms.state.${alarm.state}`)}`,
        alarm.count > 1 && ` · ${t('alarm.times', { count: alarm.count })}`,
      ),
      answerOf(board, key),
    ),
    from
      ? pressButton(
          board,
          key,
          t('alarms.acknowledge'),
          longer,
          () => acknowledge(board, key, alarm, longer),
          board.sure(from),
        )
      : null,
  );
}

export function alarms(board) {
  const list = alarmsOf(board.state);
  return el(
    'section',
    { class: list.length ? 'alarms' : 'alarms quiet', 'aria-labelledby': 'alarms' },
    title('alarms', 'alarms.title'),
    list.length
      ? el(
          'ul',
          {},
          list.map((alarm) => alarmItem(board, alarm)),
        )
      : el('p', {}, t('alarms.none')),
  );
}

// --- What waits for who looks ---

function waitItem(board, { job, check }) {
  const key = `sign ${job.job} ${check.check}`;
  const press = needsMore(check)
    ? () => askSign(board, job, check)
    : () => board.press(key, 'sign-check', { job: job.job, check: check.check });
  return el(
    'li',
    { class: 'wait', 'data-check': check.check },
    el(
      'div',
      {},
      el('h3', {}, check.ask),
      el('p', {}, `${positionTitle(board.equipment, job.position)} · ${t('outs.job')} ${job.job}`),
      answerOf(board, key),
    ),
    pressButton(
      board,
      key,
      t('waits.sign'),
      t('waits.sign-of', { check: check.ask }),
      press,
      board.sure(job.position),
    ),
  );
}

// Null if there is nothing: then nothing stands between the alarms and what is out.
export function waits(board) {
  const list = waitsFor(board.state, (position) => board.gates.of(position), board.required);
  if (!list.length) return null;
  return el(
    'section',
    { class: 'waits', 'aria-labelledby': 'waits' },
    title('waits', 'waits.title'),
    el(
      'ul',
      {},
      list.map((item) => waitItem(board, item)),
    ),
  );
}

// --- What is out ---

const fact = (word, ...value) => [el('dt', {}, t(word)), el('dd', {}, ...value)];

function technicianOf(board, job) {
  if (!job.technician) return t('outs.nobody');
  const who = personTitle(board.equipment, job.technician);
  const others = job.crew.filter((member) => member.person !== job.technician).length;
  return others ? t('outs.crew', { who, n: others }) : who;
}

function waitsText(board, told, job) {
  if (!job && told.with) return el('p', {}, t('outs.until-job', { job: told.with }));
  if (!job) return el('p', {}, t('outs.no-job'));
  if (!job.missing.length) return el('p', {}, t('outs.ready'));
  const lines = job.missing.map((m) =>
    refusalSentence(m, board.equipment),
  );
  const unlike = [...new Set(lines)];
  const more = unlike.length - MISSING_SHOWN;
  return el(
    'ul',
    {},
    unlike.slice(0, MISSING_SHOWN).map((line) => el('li', {}, line)),
    more > 0 ? el('li', {}, t('outs.more', { n: more })) : null,
  );
}

const stepWord = (at, i) => (i < at ? 'steps.done' : i === at ? 'steps.now' : 'steps.to-come');

// The way back in five steps, so that it is seen how far a repair is.
function steps(job) {
  const at = stepOf(job);
  return el(
    'ol',
    { class: 'steps', 'aria-label': t('steps.title') },
    STEPS.map((step, i) =>
      el(
        'li',
        {
          class: i < at ? 'done' : i === at ? 'now' : 'to-come',
          'aria-current': i === at ? 'step' : null,
        },
        el('span', { 'aria-hidden': 'true' }, t(`step.${step}`)),
        el('span', { class: 'only-read' }, t(stepWord(at, i), { step: t(`step.${step}`) })),
      ),
    ),
  );
}

// When the position is to be back, and whether that was moved.
function backOf(board, { at, moved }) {
  const when = clockTime(at, board.zone);
  return moved > 0 ? t('outs.back-moved', { at: when, count: moved }) : when;
}

function jobFacts(board, job) {
  const rework = job.rework ? ` · ${t('outs.rework', { n: job.rework })}` : '';
  const lockout = t(`lockout.${job.lockout}`);
  return [
    ...fact('outs.phase', `${t(`phase.${job.phase}`)}${rework}`),
    ...fact('outs.lockout', job.lockout === 'broken' ? el('strong', {}, lockout) : lockout),
    ...fact('outs.who', technicianOf(board, job)),
    ...(job.expected ? fact('outs.back', backOf(board, job.expected)) : []),
  ];
}

const procedureTitle = (board, job) =>
  board.equipment?.procedures?.find((p) => p.procedure === job.procedure)?.title ?? job.procedure;

const causeText = (board, told, job) =>
  t(`cause.${told.cause ?? 'unknown'}`, {
    with: told.with,
    job: told.job,
    procedure: job ? procedureTitle(board, job) : '',
  });

function outButtons(board, told, job) {
  const may = (verb) => board.may(told.position, verb);
  const button = (key, word, act) =>
    el(
      'button',
      {
        type: 'button',
        'data-key': `${key} ${told.position}`,
        disabled: !board.sure(told.position),
        onclick: act,
      },
      t(word),
      el('span', { class: 'only-read' }, ` ${told.position}`),
    );
  return el(
    'p',
    { class: 'links' },
    el(
      'a',
      { class: 'button', href: path('at', board.site, told.position) },
      t('outs.phone'),
      el('span', { class: 'only-read' }, ` ${told.position}`),
    ),
    job
      ? el(
          'a',
          { class: 'button', href: path('record', board.site, job.job) },
          t('outs.record'),
          el('span', { class: 'only-read' }, ` ${job.job}`),
        )
      : null,
    job && may('assign-job') ? button('assign', 'act.assign', () => askAssign(board, job)) : null,
    job && may('cancel-job') ? button('cancel', 'act.cancel', () => askCancel(board, job)) : null,
    !job && may('open-job') && board.equipment
      ? button('open', 'act.open', () => askOpen(board, told.position))
      : null,
  );
}

function outCard(board, told) {
  const view = viewOf(board.state, told.position);
  const { job } = view;
  return el(
    'li',
    { class: `out out-${view.kind}`, 'data-position': told.position },
    el(
      'div',
      { class: 'out-head' },
      sign(view.sign),
      el('h3', {}, el('span', { class: 'id' }, told.position), ' ', t(`kind.${view.kind}`)),
      el(
        'p',
        { class: 'age' },
        el('span', {}, t('outs.since'), ' '),
        el('b', {}, counting(Date.parse(told.since) - board.skew)),
        el('small', {}, ' ', t('outs.time', { time: clockTime(told.since, board.zone) })),
      ),
    ),
    el(
      'div',
      { class: 'out-body' },
      job ? steps(job) : null,
      el(
        'dl',
        {},
        el('dt', {}, t('outs.why')),
        el('dd', { class: 'whole' }, causeText(board, told, job)),
        job ? jobFacts(board, job) : null,
        el('dt', { class: 'wide-term' }, t('outs.waits')),
        el('dd', { class: 'wide-term whole' }, waitsText(board, told, job)),
      ),
      outButtons(board, told, job),
    ),
  );
}

// When it is back nobody can promise; what repairs took here may help to guess.
function usual(board) {
  const repairs = board.usual;
  if (!repairs) return null;
  const word = repairs.count ? 'outs.usual' : 'outs.usual-none';
  const [mean, longest] = [repairs.mean_s, repairs.longest_s].map(duration);
  return el('p', { class: 'usual' }, t(word, { mean, longest, n: repairs.count }));
}

export function outages(board) {
  const list = outagesOf(board.state);
  const opens = board.from('open-job');
  return el(
    'section',
    { class: 'outages', 'aria-labelledby': 'outages' },
    el(
      'div',
      { class: 'section-head' },
      title('outages', 'outs.title'),
      opens && board.equipment
        ? el(
            'button',
            {
              type: 'button',
              'data-key': 'open-job',
              disabled: !board.sure(opens),
              onclick: () => askOpen(board),
            },
            t('act.open'),
          )
        : null,
    ),
    list.length
      ? [
          el(
            'ol',
            {},
            list.map((told) => outCard(board, told)),
          ),
          usual(board),
        ]
      : el('p', { class: 'all-in' }, sign('in-service'), t('outs.none')),
  );
}
