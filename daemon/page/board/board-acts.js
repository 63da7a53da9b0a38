// What can be asked from the board: acknowledging, signing, opening, assigning, cancelling. A
// dialog stands beside the page, so that nothing typed is lost when the page is drawn anew.
import { el } from './dom.js';
import { numberField } from './number-field.js';
import { limitWords, readNumber, unitSign } from './numbers.js';
import { refusalSentence } from './refusals.js';
import { siteTime } from './site-time.js';
import { t } from './words.js';

// What came of a request, as lines of text.
export function outcomeLines(result, equipment) {
  if (result.outcome === 'lost') return [t('act.lost')];
  if (result.outcome === 'busy') return [t('act.busy')];
  if (result.outcome === 'denied') return [t('act.denied', { status: result.status })];
  const { answer } = result;
  if (answer.accepted) return [t(answer.again ? 'act.done-again' : 'act.done')];
  const reasons = answer.refusals.map((r) => refusalSentence(r, equipment));
  return [t('act.refused'), ...reasons];
}

export const accepted = (result) => result.outcome === 'answered' && result.answer.accepted;

const field = (label, control, more) =>
  el('label', { class: 'field' }, el('span', {}, label), control, more ?? null);

export const text = (name, label, more = {}) =>
  field(label, el('input', { name, type: 'text', maxlength: 500, autocomplete: 'off', ...more }));

export function choice(name, label, options, more = {}) {
  const { value, ...rest } = more;
  return field(
    label,
    el(
      'select',
      { name, ...rest },
      options.map(([key, words]) => el('option', { value: key, selected: key === value }, words)),
    ),
  );
}

// What was filled in, without what was left empty.
function filled(form) {
  return Object.fromEntries([...new FormData(form)].filter(([, value]) => value !== ''));
}

// A dialog that asks for `fields` and then `send(values)`, which tells {outcome…}. Closes when it
// was accepted, else says why not and keeps what was typed.
export function askFor({ title, press, fields, equipment, send, done }) {
  const said = el('div', { class: 'said', role: 'alert' });
  const button = el('button', { type: 'submit', class: 'press' }, press);
  const form = el(
    'form',
    { class: 'ask' },
    el('h2', {}, title),
    fields,
    said,
    el(
      'div',
      { class: 'presses' },
      button,
      el('button', { type: 'button', onclick: () => dialog.close() }, t('act.close')),
    ),
  );
  const dialog = el('dialog', { class: 'dialog', 'aria-label': title }, form);
  form.addEventListener('submit', async (event) => {
    event.preventDefault();
    button.disabled = true;
    said.replaceChildren(el('p', {}, t('act.sending')));
    const result = await send(filled(form));
    button.disabled = false;
    if (accepted(result)) {
      dialog.close();
      done?.(result);
      return;
    }
    said.replaceChildren(...outcomeLines(result, equipment).map((line) => el('p', {}, line)));
  });
  dialog.addEventListener('close', () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
}

const technicians = (equipment) =>
  equipment.people
    .filter((p) => p.roles.includes('technician'))
    .map((p) => [p.person, `${p.title} (${p.person})`]);

// A number that nobody has used before: the day and the time at the site.
function freshJob(timeZone) {
  const { year, month, day, hour, minute, second } = siteTime(Date.now(), timeZone);
  return `J-${year}${month}${day}-${hour}${minute}${second}`;
}

export function askOpen(board, position) {
  const { equipment, state } = board;
  const free = equipment.positions.filter((p) => !state.positions[p.position]?.job);
  askFor({
    title: position ? t('act.open-at', { position }) : t('act.open'),
    press: t('act.open'),
    equipment,
    fields: [
      choice(
        'position',
        t('act.position'),
        free.map((p) => [p.position, `${p.position} · ${p.title}`]),
        { value: position, required: true },
      ),
      choice(
        'procedure',
        t('act.procedure'),
        equipment.procedures.map((p) => [p.procedure, p.title]),
        { required: true },
      ),
      text('job', t('act.job'), {
        value: freshJob(equipment.time_zone),
        required: true,
        pattern: '[A-Za-z0-9][A-Za-z0-9._\\-]{0,63}',
      }),
      choice('technician', t('act.technician'), [['', t('act.later')], ...technicians(equipment)]),
      text('kit_family', t('act.kit')),
      text('part', t('act.part')),
      text('defect', t('act.defect')),
      text('note', t('act.note')),
    ],
    send: (values) => board.ask('open-job', values),
  });
}

export function askAssign(board, job) {
  askFor({
    title: t('act.assign-of', { job: job.job }),
    press: t('act.assign'),
    equipment: board.equipment,
    fields: [
      choice('technician', t('act.technician'), technicians(board.equipment), {
        value: job.technician,
        required: true,
      }),
      text('kit_family', t('act.kit')),
    ],
    send: (values) => board.ask('assign-job', { job: job.job, ...values }),
  });
}

export function askCancel(board, job) {
  askFor({
    title: t('act.cancel-of', { job: job.job }),
    press: t('act.cancel'),
    equipment: board.equipment,
    fields: [text('reason', t('act.reason'), { required: true })],
    send: (values) => board.ask('cancel-job', { job: job.job, ...values }),
  });
}

// An alarm of what somebody said or did not do: what was done about it is said with it.
export function askDone(board, alarm, title) {
  askFor({
    title,
    press: t('alarms.acknowledge'),
    equipment: board.equipment,
    fields: [text('note', t('act.done-about'), { required: true, pattern: '.*\\S.*' })],
    send: (values) => board.ask('acknowledge-alarm', { ...alarm, ...values }),
  });
}

// The reading of a check: its limits, and below the field how what is typed is understood. One that
// cannot be taken keeps the form from being sent.
function readingField(check) {
  const limits = limitWords(check) || unitSign(check.unit);
  const { input, sign, said } = numberField({
    name: 'value',
    negative: check.min === null || check.min < 0,
    id: 'reading',
    required: true,
    unit: () => check.unit,
    changed: () => {
      const { wrong } = readNumber(input.value);
      input.setCustomValidity(input.value === '' ? '' : (wrong ?? ''));
    },
  });
  return [field(`${t('waits.value')} (${limits})`, input), sign, said];
}

// A check with a reading is asked for in a dialog; one without is signed by one press.
export function askSign(board, job, check) {
  const kinds = board.equipment.instruments.filter((i) => i.kind === check.instrument);
  const fields = [];
  if (check.unit) fields.push(readingField(check));
  if (check.instrument)
    fields.push(
      choice(
        'instrument',
        t('waits.instrument'),
        kinds.map((i) => [i.instrument, `${i.instrument} · ${i.calibrated_until}`]),
        { required: true },
      ),
    );
  askFor({
    title: check.ask,
    press: t('waits.sign'),
    equipment: board.equipment,
    fields,
    send: (values) => board.ask('sign-check', signed(job, check, values)),
  });
}

function signed(job, check, values) {
  const body = { job: job.job, check: check.check, ...values };
  if (check.unit) {
    body.value = readNumber(values.value).value;
    body.unit = check.unit;
  }
  return body;
}

export const needsMore = (check) => Boolean(check.unit || check.instrument);
