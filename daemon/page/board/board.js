// The board's beginning: whose it is, and which of its two pages the address names.
import './sign-words.js';
import './board-words.js';
import { getJson } from './api.js';
import { el, replace } from './dom.js';
import { openBoard } from './board-site.js';
import { openSites } from './board-sites.js';
import { speak, t } from './words.js';

const root = document.getElementById('board');
const AGAIN_MS = 2000;

function tell(word) {
  replace(
    root,
    el('main', { class: 'plain' }, el('h1', {}, t('board.title')), el('p', {}, t(word))),
  );
}

// Until the daemon has said who asks there is nothing to show; while it is away, it is asked again.
async function whoAsks() {
  for (;;) {
    try {
      return await getJson('/api');
    } catch (error) {
      if (error.status === 401) {
        tell('board.denied-401');
        return null;
      }
      tell('state.dead');
    }
    await new Promise((resolve) => setTimeout(resolve, AGAIN_MS));
  }
}

async function begin() {
  speak();
  tell('board.loading');
  const me = await whoAsks();
  if (!me) return;
  const site = decodeURIComponent(location.pathname.split('/')[2] ?? '');
  if (site) openBoard(root, me, site);
  else if (me.sites.length === 1)
    location.replace(`/board/${encodeURIComponent(me.sites[0].site)}${location.search}`);
  else openSites(root, me);
}

begin();
