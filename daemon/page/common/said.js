// What the configuration says to people, in the language of the page: a document that gives a title or a
// question in several languages has them beside it ("title" and "titles", "ask" and "asks").
import { language } from './words.js';

// Texts by language, by what they are in the site's first: a refusal or an alarm quotes that one alone.
const texts = new Map();

// A text that the configuration says, in the language of the page where it is given in that.
export const inLanguage = (text) => texts.get(text)?.[language()] ?? text;

const FAMILY = /^(\w*(?:title|ask))s$/;

function speak(object, name, by) {
  const first = object[name];
  texts.set(first, by);
  Object.defineProperty(object, name, {
    get: () => by[language()] ?? first,
    enumerable: true,
    configurable: true,
  });
}

// Makes a document speak the language of the page, also when it changes later. Returns the document.
export function speaking(document) {
  if (document === null || typeof document !== 'object') return document;
  for (const [key, value] of Object.entries(document)) {
    const [, name] = FAMILY.exec(key) ?? [];
    if (name && typeof document[name] === 'string' && !Array.isArray(value) && value) speak(document, name, value);
    else speaking(value);
  }
  return document;
}
