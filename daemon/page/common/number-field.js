// A field for a number: it says below itself how what is typed is understood, with the unit, or why it
// cannot be taken.
import { el } from './dom.js';
import { understood } from './numbers.js';
import { t } from './words.js';

// {input, sign, said}: the field, a button that changes its sign where it may be below zero (the digits of
// some phones have no minus), and the place below it. `unit()` tells the unit as it is chosen now;
// `changed()` is called after every change. Call `say()` where the unit has changed.
export function numberField({ name, id, whole, negative, unit, changed, ...more }) {
  const said = el('output', { class: 'understood', id: `${id}u`, for: id });
  const input = el('input', {
    id,
    name,
    type: 'text', // one of type number would read a comma as the browser's own language does
    inputmode: whole ? 'numeric' : 'decimal',
    autocomplete: 'off',
    class: 'number',
    'aria-describedby': said.id,
    ...more,
  });
  const say = () => {
    const { said: good, wrong } = understood(input.value, unit());
    said.textContent = good ?? wrong ?? '';
    said.classList.toggle('wrong', Boolean(wrong));
    changed?.();
  };
  input.addEventListener('input', say);
  const turn = () => {
    const text = input.value.trim();
    input.value = text.startsWith('-') ? text.slice(1) : `-${text}`;
    input.dispatchEvent(new Event('input', { bubbles: true }));
    input.focus();
  };
  const press = { type: 'button', class: 'sign-turn', 'aria-label': t('number.sign'), onclick: turn };
  const sign = negative ? el('button', press, '±') : null;
  return { input, sign, said, say };
}
