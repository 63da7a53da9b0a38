// What came of a press: done, refused and why, or that it did not get through.
import { el } from './dom.js';
import { cautionSentences } from './cautions.js';
import { resultWords, testResult } from './numbers.js';
import { hasWord, t } from './words.js';
import { refusalSentence } from './refusals.js';
import { waitingRuns } from './at-tests.js';

const DONE_MS = 6000;

// What needs an eye beside the verdict, and what the instrument's own error makes of it.
function cautionLines(result) {
  const { decision } = result;
  const decided = decision && hasWord(`decision.${decision}`) && t(`decision.${decision}`);
  return [decided, ...cautionSentences(result)]
    .filter(Boolean)
    .map((text) => el('p', { class: 'result-caution' }, text));
}

function resultLines(result, { test, check }) {
  return result && [verdictLine(result, test, check), cautionLines(result)];
}

function verdictLine(result, test, check) {
  const waits = waitingRuns(result);
  if (waits) return el('p', {}, `${t('test.borderline')} ${t('test.run', waits)}`);
  if (result.pass === null || result.pass === undefined) return null;
  const none = result.value === null || result.value === undefined;
  if (none && result.pass && !result.rule) return null; // signed without a reading: that is all
  const value = resultWords(result.rule ? testResult(result, test) : { ...result, rule: check?.rule });
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
    this.element.append(...parts.flat(2).filter(Boolean), button);
    const read = this.element.querySelector('.result-caution');
    if (kind === 'done' && !read) this.#timer = setTimeout(close, DONE_MS); // a caution waits to be read
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
      return this.#show('done', el('p', {}, t('answer.done', { what })), resultLines(record, action));
    }
    const list = refusals.map((r) =>
      el('li', {}, refusalSentence(r, ctx.equipment)),
    );
    return this.#show('refused', el('p', {}, t('answer.refused')), el('ul', {}, list));
  }
}
