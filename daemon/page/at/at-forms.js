// Draws a form in a dialog, reads it, and hands back the body that it makes.
import { el } from './dom.js';
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
    el('option', { value: field.name }, field.unit),
    el('option', { value: `readings.${field.twin.name}` }, field.twin.unit),
  );

function numberInput(field, id) {
  const input = el('input', {
    id,
    name: field.name,
    type: 'text',
    inputmode: field.whole ? 'numeric' : 'decimal',
    autocomplete: 'off',
    class: 'number',
  });
  const unit = twinPicker(field, id) || (field.unit && el('span', { class: 'unit' }, field.unit));
  return el('div', { class: 'measure' }, input, unit);
}

function control(field, id) {
  if (field.kind === 'number') return numberInput(field, id);
  if (field.kind === 'pick') return picker(field, id);
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
  return el('div', { 'data-field': field.name }, label, hint, control(field, id), wrong);
}

// A number as people write it, with a comma or a point; NaN if it is none.
export function numberOf(text) {
  const plain = text.trim().replace(/\s/g, '').replace(',', '.');
  return /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(plain) ? Number(plain) : NaN;
}

// {name, value} of a field, {wrong} if it cannot be sent, or null where it is left out.
function read(field, data) {
  const raw = (data.get(field.name) ?? '').toString().trim();
  if (field.kind === 'attest') return { name: field.name, value: raw !== '' };
  if (raw === '' && field.free?.(data)) return null;
  if (raw === '') return field.optional ? null : { wrong: t('form.needed') };
  if (field.kind === 'verdict') return { name: field.name, value: raw === 'true' };
  if (field.kind !== 'number') return { name: field.name, value: raw };
  const value = numberOf(raw);
  if (Number.isNaN(value)) return { wrong: t('form.number') };
  if (field.whole && !Number.isInteger(value)) return { wrong: t('form.whole') };
  return { name: data.get(`unit.${field.name}`) ?? field.name, value };
}

function readAll(form, fields) {
  const data = new FormData(form);
  const values = {};
  let first = null;
  for (const field of fields) {
    const holder = form.querySelector(`[data-field="${CSS.escape(field.name)}"]`);
    const got = read(field, data);
    const wrong = holder.querySelector('.wrong');
    wrong.hidden = !got?.wrong;
    wrong.textContent = got?.wrong ?? '';
    const input = holder.querySelector('input, select, textarea');
    input.toggleAttribute('aria-invalid', Boolean(got?.wrong));
    if (got?.wrong) input.setAttribute('aria-describedby', wrong.id);
    if (got?.wrong) first ??= input;
    else if (got) values[got.name] = got.value;
  }
  first?.focus();
  return first ? null : values;
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

  // `send(body)` gets what the form adds to the action's body.
  ask(action, form, send) {
    const done = (body) => {
      this.close();
      send(body);
    };
    const submit = (event) => {
      event.preventDefault();
      const values = readAll(event.target, form.fields);
      if (values) done(form.make(values));
    };
    const quick = form.quick?.map((q) =>
      el('button', { type: 'button', class: 'big danger', onclick: () => done(q.body) }, q.label),
    );
    const kind = action.danger ? 'big danger' : 'big';
    this.#show(
      action.danger,
      el('h2', { id: 'form-title', tabindex: -1 }, form.title),
      form.hint && el('p', { class: 'hint' }, form.hint),
      quick && el('div', { class: 'quick' }, quick),
      el(
        'form',
        { onsubmit: submit, novalidate: true },
        form.fields.map(drawn),
        el('button', { type: 'submit', class: quick ? 'plain' : kind }, submitLabel(action)),
      ),
      this.#closer(),
    );
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
