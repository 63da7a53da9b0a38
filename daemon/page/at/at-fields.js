// The fields of each form, and the request's body that they make. Nothing is filled in beforehand that
// a person has to read, measure or see.
import { limitWords } from './numbers.js';
import { hasWord, language, t } from './words.js';
import { personTitle } from './refusals.js';
import { measured, peopleOf } from './at-actions.js';
import { DAY_FORMS } from './at-day-forms.js';
import { testTitle } from './at-tests.js';
import { choiceTitle, readingName, ruleTitle } from './test-titles.js';

const text = (name, label, more = {}) => ({ name, kind: 'text', label: t(label), ...more });
const pick = (name, label, options, more = {}) => ({
  name,
  kind: 'pick',
  label: t(label),
  options,
  ...more,
});

function instrumentField(ctx, kind, optional) {
  const fitting = ctx.equipment.instruments.filter((i) => !kind || i.kind === kind);
  if (fitting.length === 0 && !kind) return [];
  const options = fitting.map((i) => ({
    value: i.instrument,
    label: i.in_calibration ? i.instrument : t('form.overdue', { instrument: i.instrument }),
    disabled: !i.in_calibration,
  }));
  const label = kind ? t('form.instrument-of', { kind }) : t('form.instrument');
  return [{ name: 'instrument', kind: 'pick', label, options, optional: optional || !kind }];
}

const note = () => text('note', 'form.note', { optional: true });
const shiftNote = () =>
  text('note', 'form.shift-note', { optional: true, long: true, lang: language() });

const TWIN = 'twin'; // a value in the twin of its unit, until the form is sent

// In the check's unit or in its twin, whichever the gauge is marked in.
const readingOf = ({ unit, twin_unit: twin, min, rule }) => ({
  name: 'value',
  kind: 'number',
  label: t(rule === 'torque-applied' ? 'form.reading-wrench' : 'form.reading'),
  unit,
  twin: twin && { name: TWIN, unit: twin },
  negative: min === null || min === undefined || min < 0,
});

function checkForm(ctx, { check, how }) {
  const out = [];
  const hint = limitWords(check);
  if (check.unit)
    out.push({ ...readingOf(check), hint });
  if (check.instrument) out.push(...instrumentField(ctx, check.instrument));
  if (how) out.push(text('note', 'form.how', { long: true, lang: language() }));
  else out.push(check.note ? text('note', 'form.answer', { long: true }) : note());
  const make = ({ [`readings.${TWIN}`]: twin, ...values }) => {
    if (twin !== undefined) return { ...values, value: twin, unit: check.twin_unit };
    return check.unit ? { ...values, unit: check.unit } : values;
  };
  const byHand = measured(ctx, check) ? t('form.by-hand') : null;
  return { title: check.ask, hint: byHand, fields: out, make };
}

function readingField(reading) {
  const label = readingName(reading.name, reading.title);
  const name = `readings.${reading.name}`;
  if (reading.kind === 'flag') return { name, kind: 'verdict', label };
  if (reading.kind === 'text') {
    const options = reading.choices.map((c) => ({ value: c, label: choiceTitle(c) }));
    return { name, kind: 'pick', label, options, optional: reading.optional };
  }
  const twin = reading.twin ? { name: reading.twin, unit: reading.twin_unit } : null;
  const { whole, optional, unit, negative } = reading;
  return { name, kind: 'number', label, unit, twin, whole, optional, negative };
}

// A method asks for parts of it alone where one criterion is chosen; that is said, not guessed.
const testHint = (test, waits) =>
  [
    waits && t('form.run', waits),
    test.ask && `${test.ask}.`,
    test.method && `${[test.method, test.edition].filter(Boolean).join(', ')}.`,
    limitWords(test) && t('form.limits', { limits: limitWords(test) }),
    test.limits_move &&
      t(limitWords(test) ? 'form.limits-both' : 'form.limits-move', { formula: test.formula }),
    hasWord(`hint.${test.rule}`) && t(`hint.${test.rule}`),
  ]
    .filter(Boolean)
    .join(' ');

// A test that failed passes only with a word on what was changed. One that fails again needs none, which
// only a verdict by eye says before it is sent.
const changed = () =>
  text('note', 'form.changed', {
    long: true,
    lang: language(),
    free: (data) => data.get('readings.pass') === 'false',
  });

function testForm(ctx, { test, waits, again }) {
  const fields = test.readings.map(readingField);
  fields.push(...instrumentField(ctx, test.instrument));
  fields.push(again ? changed() : note());
  const title = t('form.test', {
    test: testTitle(ctx, test.test),
    rule: ruleTitle(test),
  });
  return { title, hint: testHint(test, waits), fields, make: nest };
}

// {'readings.x': 1, note} → {readings: {x: 1}, note}
export function nest(values) {
  const body = { readings: {} };
  for (const [name, value] of Object.entries(values)) {
    if (name.startsWith('readings.')) body.readings[name.slice('readings.'.length)] = value;
    else body[name] = value;
  }
  return body;
}

const peopleOptions = (ctx, ids) =>
  ids.map((id) => ({ value: id, label: personTitle(ctx.equipment, id) }));
const technicians = (ctx) =>
  ctx.equipment.people.filter((p) => p.roles.includes('technician')).map((p) => p.person);
const family = () => text('kit_family', 'form.kit', { optional: true, hint: t('form.kit-hint') });

function toForm(ctx, action, name) {
  const others = peopleOf(ctx, action.verb, name);
  return {
    title: t(action.label),
    fields: [
      pick(name, 'form.person', peopleOptions(ctx, others)),
      ...(action.verb === 'hand-over' ? [shiftNote()] : []),
    ],
    make: (values) => values,
  };
}

function openForm(ctx, action) {
  const now = new Date().toISOString().slice(0, 16).replace(/\D/g, '');
  const procedures = ctx.equipment.procedures.map((p) => ({ value: p.procedure, label: p.title }));
  return {
    title: t(action.label),
    fields: [
      text('job', 'form.job', { value: `${ctx.position}-${now}` }),
      pick('procedure', 'form.procedure', procedures),
      pick('technician', 'form.technician', peopleOptions(ctx, technicians(ctx)), {
        optional: true,
      }),
      family(),
      text('part', 'form.part', { optional: true }),
      text('defect', 'form.defect', { optional: true }),
      note(),
    ],
    make: (values) => values,
  };
}

function assignForm(ctx, action) {
  const people = peopleOptions(ctx, technicians(ctx));
  return {
    title: t(action.label),
    fields: [
      pick('technician', 'form.technician', people, { value: ctx.job.technician }),
      family(),
    ],
    make: (values) => values,
  };
}

const ATTESTED = ['not_on_site', 'contact_tried', 'will_be_told'];

function absentForm(ctx, action) {
  const fields = ATTESTED.map((a) => ({
    name: `attest.${a}`,
    kind: 'attest',
    label: t(`attest.${a}`),
  }));
  fields.push(text('reason', 'form.reason', { long: true }));
  const make = ({ reason, ...attested }) => ({
    reason,
    attest: Object.fromEntries(ATTESTED.map((a) => [a, attested[`attest.${a}`] === true])),
  });
  return { title: t(action.label, action.values), hint: t('form.absent-hint'), fields, make };
}

const reasonForm = (ctx, action) => ({
  title: t(action.label, action.values),
  hint: hasWord(`warn.${action.verb}`) ? t(`warn.${action.verb}`) : null,
  fields: [text('reason', 'form.reason', { long: true })],
  make: (values) => values,
});

// For how long a sensor may be said to be out of order; it may be said again.
const HOURS = ['1', '2', '4', '8', '12'];

const distrustForm = (ctx, action) => ({
  title: t(action.label, action.values),
  hint: t(action.body.sensor ? 'warn.distrust-sensor' : 'warn.distrust-reader'),
  fields: [
    pick(
      'hours',
      'form.hours',
      HOURS.map((h) => ({ value: h, label: t('form.hours-of', { hours: h }) })),
    ),
    text('reason', 'form.reason', { long: true }),
  ],
  make: ({ hours, ...values }) => ({ ...values, hours: Number(hours) }),
});

function doneForm(ctx, action) {
  const own = `form.done.${action.kind}`;
  const label = hasWord(own) ? own : 'form.done';
  return {
    title: t(action.label, action.values),
    fields: [text('note', label, { long: true, lang: language() })],
    make: (values) => values,
  };
}

// One tap on a reason is enough to stop; other words are possible.
const stopForm = (ctx, action) => ({
  title: t(action.label),
  hint: t('stop.hint'),
  quick: ['vapor', 'spill', 'live', 'person', 'other'].map((r) => ({
    label: t(`stop.${r}`),
    body: { reason: t(`stop.${r}`) },
  })),
  fields: [text('reason', 'form.other-reason', { long: true, lang: language() })],
  make: (values) => values,
});

const FORMS = {
  check: checkForm,
  test: testForm,
  to: (ctx, action) => toForm(ctx, action, 'to'),
  member: (ctx, action) => toForm(ctx, action, 'person'),
  open: openForm,
  assign: assignForm,
  absent: absentForm,
  reason: reasonForm,
  done: doneForm,
  distrust: distrustForm,
  stop: stopForm,
  ...DAY_FORMS,
};

// {title, hint?, quick?, fields, make(values) → what is added to the action's body}.
export const formOf = (ctx, action) => FORMS[action.form](ctx, action);
