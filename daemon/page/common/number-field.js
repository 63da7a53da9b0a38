// A field for a number: it says below itself how what is typed is understood, with the unit, or why it
// cannot be taken.
import { el } from './dom.js';
import { understood } from './numbers.js';

// {input, said}: the field, and the place below it. `unit()` tells the unit as it is chosen now;
// `changed()` is called after every change. Call `say()` where the unit has changed.
export function numberField({ name, id, whole, unit, changed, ...more }) {
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
  return { input, said, say };
}
