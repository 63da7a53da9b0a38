// A page that may not be seen, or is not there, says so.
import { el, replace } from './dom.js';
import { speak, t } from './words.js';
import './plain-words.js';

const why = document.body.dataset.why;
const title = t(why === 'not-yours' ? 'plain.not-yours' : 'plain.not-there');
const how = t(why === 'not-yours' ? 'plain.not-yours.how' : 'plain.not-there.how');
speak();
document.title = title;
replace(
  document.getElementById('page'),
  el('section', { class: 'card' },
    el('h1', { class: 'signal on-notice' }, title),
    el('div', { class: 'inside' }, el('p', {}, how), el('p', {}, t('plain.live')))),
  el('a', { class: 'button first', href: '/board' }, t('plain.board')),
);
