// What a test, a reading and a choice are called in the language of the page.
import './test-words.js';
import { hasWord, t } from './words.js';

// In this language where the page has a word for it, else as the daemon names it, which knows every rule.
const named = (key, served) => (hasWord(key) ? t(key) : served);

export const ruleName = (rule, served) => named(`rule.${rule}`, served ?? rule);
export const readingName = (reading, served) => named(`reading.${reading}`, served ?? reading);
export const choiceTitle = (choice) => named(`choice.${choice}`, choice);

// A test of a procedure: a title of the configuration's own ("titles") goes before the rule's.
export const ruleTitle = (test) => (test.titles ? test.title : ruleName(test.rule, test.title));
