// A refusal as the pages say it.
import { flat, load } from './pages.mjs';

const dir = flat('common');
const { refusalSentence } = await load(dir, 'refusals.js');
await load(dir, 'sign-words.js');
const { setLanguage } = await load(dir, 'words.js');

// [language, sentence] in each language that the pages have; null: they have none for it.
export const pageSentences = (args) =>
  ['en', 'es'].map((language) => {
    setLanguage(language);
    return [language, refusalSentence({ code: null, say: null, args }, null)];
  });
