// What came of a press: done, refused and why, or that it did not get through.
import { el } from './dom.js';
import { shown, withUnit } from './numbers.js';
import { t } from './words.js';
import { refusalSentence } from './refusals.js';
import { waitingRuns } from './at-tests.js';

const DONE_MS = 6000;

function resultLine(result) {
  if (!result) return null;
  const waits = waitingRuns(result);
  if (waits) return el('p', {}, `${t('test.borderline')} ${t('test.run', waits)}`);
  if (result.pass === null || result.pass === undefined) return null;
  const none = result.value === null || result.value === undefined;
  if (none && result.pass && !result.rule) return null; // signed without a reading: that is all
  const value = none ? '' : withUnit(shown(result.value), result.unit);
  return el('p', {}, t(result.pass ? 'answer.pass' : 'answer.fail', { value }).replace(/: $/, ''));
}

export class Answers {
  #timer;

  constructor(changed) {
    this.changed = changed;
    this.element = el('div', { id: 'answer', 'data-stays': 'yes', 'aria-live': 'assertive' });
  }

  clear() {
    clearTimeout(this.#timer);
    this.element.replaceChildren();
    this.element.className = '';
  }

  #show(kind, ...parts) {
    this.clear();
    this.element.className = kind;
    const close = () => (this.clear(), this.changed());
    const button = el(
      'button',
      { type: 'button', class: 'plain', onclick: close },
      t('form.close'),
    );
    this.element.append(...parts.flat().filter(Boolean), button);
    if (kind === 'done') this.#timer = setTimeout(close, DONE_MS);
  }

  // `result` is what live.request() came to.
  tell(action, result, ctx) {
    if (result.outcome === 'busy') return;
    if (result.outcome === 'lost') return this.#show('lost', el('p', {}, t('answer.lost')));
    if (result.outcome === 'denied')
      return this.#show('lost', el('p', {}, t('answer.denied', { status: result.status })));
    const { accepted, refusals, result: record } = result.answer;
    if (accepted) {
      const what = action.check?.ask ?? t(action.label, action.values);
      return this.#show('done', el('p', {}, t('answer.done', { what })), resultLine(record));
    }
    const list = refusals.map((r) =>
      el('li', {}, refusalSentence(r, ctx.equipment)),
    );
    return this.#show('refused', el('p', {}, t('answer.refused')), el('ul', {}, list));
  }
}
