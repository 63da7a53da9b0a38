// Draws a form in a dialog, reads it, and hands back the body that it makes.
import { el } from './dom.js';
import { numberField } from './number-field.js';
import { figure, readNumber, unitSign, withUnit } from './numbers.js';
import { t } from './words.js';

const labelOf = (field) =>
  field.optional ? t('form.optional', { label: field.label }) : field.label;

let serial = 0;

function choiceRow(name, options) {
  return el(
    'div',
    { class: 'choices', role: 'radiogroup' },
    options.map(({ value, label, sign }) => {
      const id = `f${++serial}`;
      return el(
        'label',
        { class: 'choice', for: id },
        el('input', { type: 'radio', name, value, id }),
        el('span', {}, sign ? `${sign} ${label}` : label),
      );
    }),
  );
}

function picker(field, id) {
  const empty = el('option', { value: '' }, t('form.choose'));
  const rest = field.options.map((o) =>
    el('option', { ...o, label: null, selected: o.value === field.value }, o.label),
  );
  return el('select', { id, name: field.name }, empty, rest);
}

const twinPicker = (field, id) =>
  field.twin &&
  el(
    'select',
    { name: `unit.${field.name}`, 'aria-label': t('form.unit'), id: `${id}u` },
    el('option', { value: field.name }, unitSign(field.unit)),
    el('option', { value: `readings.${field.twin.name}` }, unitSign(field.twin.unit)),
  );

// The unit that a number of the form is in, as it is chosen: with itself, or for all that name one field.
const unitIn = (data, field) =>
  field.unitOf
    ? data.get(field.unitOf)
    : data.get(`unit.${field.name}`) === `readings.${field.twin?.name}`
      ? field.twin.unit
      : field.unit;

// One unit for every number that names this field; they are said anew where it changes.
function unitPicker(field, id) {
  const changed = ({ target }) => {
    for (const input of target.form.querySelectorAll(`[data-unit-of="${field.name}"]`))
      input.dispatchEvent(new Event('input', { bubbles: true }));
  };
  return el(
    'select',
    { id, name: field.name, oninput: changed },
    field.units.map((unit) => el('option', { value: unit, selected: unit === field.value }, unitSign(unit))),
  );
}

function numberInput(field, id) {
  const twins = twinPicker(field, id);
  const { input, sign, said, say } = numberField({
    id,
    name: field.name,
    whole: field.whole,
    negative: field.negative,
    'data-unit-of': field.unitOf,
    unit: () => unitIn(new FormData(input.form), field),
  });
  twins?.addEventListener('input', say);
  const unit = twins || (field.unit && el('span', { class: 'unit' }, unitSign(field.unit)));
  return [el('div', { class: 'measure' }, sign, input, unit), said];
}

function control(field, id) {
  if (field.kind === 'number') return numberInput(field, id);
  if (field.kind === 'pick') return picker(field, id);
  if (field.kind === 'unit') return unitPicker(field, id);
  if (field.kind === 'day') return el('input', { id, name: field.name, type: 'date' });
  if (field.kind === 'when') return el('input', { id, name: field.name, type: 'datetime-local' });
  const plain = { id, name: field.name, autocomplete: 'off', maxlength: 500 };
  if (field.long) return el('textarea', { ...plain, rows: 3 });
  return el('input', { ...plain, type: 'text', value: field.value });
}

function drawn(field) {
  const id = `f${++serial}`;
  const wrong = el('p', { class: 'wrong', id: `${id}w`, hidden: true });
  const hint = field.hint && el('p', { class: 'hint' }, field.hint);
  if (field.kind === 'verdict') {
    const options = [
      { value: 'true', label: t('form.pass'), sign: '✓' },
      { value: 'false', label: t('form.fail'), sign: '✕' },
    ];
    const legend = el('legend', {}, field.label);
    return el(
      'fieldset',
      { 'data-field': field.name },
      legend,
      choiceRow(field.name, options),
      wrong,
    );
  }
  if (field.kind === 'attest') {
    const box = el('input', { type: 'checkbox', id, name: field.name });
    const label = el('label', { class: 'choice', for: id }, box, el('span', {}, field.label));
    return el('div', { 'data-field': field.name }, label, wrong);
  }
  const label = el('label', { for: id }, labelOf(field));
  const tells = field.kind !== 'number' && wrong; // a number says below itself what is wrong with it
  return el('div', { 'data-field': field.name }, label, hint, control(field, id), tells);
}

// {name, value} of a field, {wrong} if it cannot be sent, or null where it is left out.
function read(field, data) {
  const raw = (data.get(field.name) ?? '').toString().trim();
  if (field.kind === 'attest') return { name: field.name, value: raw !== '' };
  if (raw === '' && field.free?.(data)) return null;
  if (raw === '') return field.optional ? null : { wrong: t('form.needed') };
  if (field.kind === 'verdict') return { name: field.name, value: raw === 'true' };
  if (field.kind === 'when' && Number.isNaN(Date.parse(raw))) return { wrong: t('form.when') };
  if (field.kind !== 'number') return { name: field.name, value: raw };
  const { value, wrong } = readNumber(raw);
  if (wrong) return { wrong };
  if (field.whole && !Number.isInteger(value)) return { wrong: t('form.whole') };
  return { name: data.get(`unit.${field.name}`) ?? field.name, value };
}

function tellWrong(holder, input, wrong) {
  const number = holder.querySelector('output');
  const place = number ?? holder.querySelector('.wrong');
  input.toggleAttribute('aria-invalid', Boolean(wrong));
  if (wrong || !number) place.textContent = wrong ?? '';
  if (number) return number.classList.toggle('wrong', Boolean(wrong));
  place.hidden = !wrong;
  if (wrong) input.setAttribute('aria-describedby', place.id);
}

function readAll(form, fields) {
  const data = new FormData(form);
  const values = {};
  let first = null;
  for (const field of fields) {
    const holder = form.querySelector(`[data-field="${CSS.escape(field.name)}"]`);
    const got = read(field, data);
    const input = holder.querySelector('input, select, textarea');
    tellWrong(holder, input, got?.wrong);
    if (got?.wrong) first ??= input;
    else if (got) values[got.name] = got.value;
  }
  first?.focus();
  return first ? null : values;
}

// The numbers of a form as they are understood, each with its unit; those that are not are left out.
function numbersIn(form, fields) {
  const data = new FormData(form);
  return fields
    .filter((field) => field.kind === 'number')
    .map((field) => ({ field, ...readNumber(data.get(field.name) ?? '') }))
    .filter(({ value }) => value !== undefined)
    .map(({ field, value }) => ({ label: field.label, said: withUnit(figure(value), unitIn(data, field)) }));
}

// The end of a form: the button, and what it sends of numbers as they were understood. One stands on the
// button itself, several above it.
function sending(action, fields, kind) {
  const several = fields.filter((field) => field.kind === 'number').length > 1;
  const list = el('ul', { class: 'sent', hidden: true });
  const button = el('button', { type: 'submit', class: kind }, submitLabel(action));
  const tell = (form) => {
    const numbers = numbersIn(form, fields);
    list.hidden = !several || numbers.length === 0;
    list.replaceChildren(
      el('li', {}, t('number.sent')),
      ...numbers.map(({ label, said }) => el('li', {}, `${label}: `, el('b', {}, said))),
    );
    const one = !several && numbers[0];
    button.textContent = one ? `${submitLabel(action)}: ${one.said}` : submitLabel(action);
  };
  return { parts: [list, button], tell };
}

// Fills a form in again with what it held.
function refill(form, kept) {
  for (const element of form.elements) {
    if (!element.name) continue;
    if (element.type === 'radio') element.checked = kept.get(element.name) === element.value;
    else if (element.type === 'checkbox') element.checked = kept.has(element.name);
    else if (!element.options || [...element.options].some((o) => o.value === kept.get(element.name)))
      element.value = kept.get(element.name) ?? '';
    element.dispatchEvent(new Event('input', { bubbles: true }));
  }
}

// What cannot be taken back is named on the button itself.
const submitLabel = ({ danger, form, label, values }) =>
  danger && form === 'reason' ? t(label, values) : t('form.send');

// One dialog serves all forms; a stop that comes in closes it, so that nothing hides the stop.
export class Forms {
  #dialog = el('dialog', { class: 'form', 'aria-labelledby': 'form-title' });
  #back = null;

  constructor() {
    document.body.append(this.#dialog);
    this.#dialog.addEventListener('close', () => this.#closed());
  }

  get open() {
    return this.#dialog.open;
  }

  close() {
    if (this.#dialog.open) this.#dialog.close();
  }

  // Away with it, and the focus does not go back to where it came from.
  dismiss() {
    this.#back = null;
    this.close();
  }

  #closed() {
    this.#dialog.replaceChildren();
    const key = this.#back;
    if (!key) return;
    const origin = document.querySelector(`[data-key="${CSS.escape(key)}"]`);
    origin?.focus({ preventScroll: true });
  }

  #show(danger, ...children) {
    this.#back = document.activeElement?.dataset.key ?? null;
    this.#dialog.setAttribute('class', danger ? 'form form-danger' : 'form');
    this.#dialog.replaceChildren(...children.flat().filter(Boolean));
    if (!this.#dialog.open) this.#dialog.showModal();
  }

  #closer = () =>
    el('button', { type: 'button', class: 'plain', onclick: () => this.close() }, t('form.close'));

  // `send(body, filled)` gets what the form adds to the action's body, and the form as it was filled in.
  // `kept` is one that was sent and not done, {filled, time}: nothing of it has to be typed again.
  ask(action, form, send, kept = null) {
    const done = (body, filled = null) => {
      this.close();
      send(body, filled);
    };
    const submit = (event) => {
      event.preventDefault();
      const filled = new Map(new FormData(event.target));
      const values = readAll(event.target, form.fields);
      if (values) done(form.make(values), filled);
    };
    const quick = form.quick?.map((q) =>
      el('button', { type: 'button', class: 'big danger', onclick: () => done(q.body) }, q.label),
    );
    const kind = action.danger ? 'big danger' : 'big';
    const { parts, tell } = sending(action, form.fields, quick ? 'plain' : kind);
    const drawnForm = el(
      'form',
      { onsubmit: submit, oninput: (event) => tell(event.currentTarget), novalidate: true },
      form.fields.map(drawn),
      parts,
    );
    this.#show(
      action.danger,
      el('h2', { id: 'form-title', tabindex: -1 }, form.title),
      form.hint && el('p', { class: 'hint' }, form.hint),
      kept && el('p', { class: 'hint kept' }, t('form.not-done', { time: kept.time })),
      quick && el('div', { class: 'quick' }, quick),
      drawnForm,
      this.#closer(),
    );
    if (kept) refill(drawnForm, kept.filled);
  }

  // Asks once more before something that cannot be taken back.
  confirm(action, send) {
    const yes = () => {
      this.close();
      send({});
    };
    this.#show(
      action.danger,
      el('h2', { id: 'form-title' }, t(action.label, action.values)),
      el('p', {}, t(action.confirm)),
      el('button', { type: 'button', class: 'big danger', onclick: yes }, t('confirm.yes')),
      this.#closer(),
    );
  }
}
