// The buttons by which a page's language is chosen.
import { el } from './dom.js';
import { language, setLanguage, speak } from './words.js';

const NAMES = { en: 'English', es: 'Español' };

// A button for each language, the present one pressed; `changed` draws the page anew.
export const languageButtons = (changed) =>
  Object.entries(NAMES).map(([code, name]) =>
    el(
      'button',
      {
        type: 'button',
        lang: code,
        'data-key': `language-${code}`,
        'aria-pressed': String(language() === code),
        onclick: () => {
          setLanguage(code);
          speak();
          changed();
        },
      },
      name,
    ),
  );
