// What a test is called in the language of the page.
import './test-words.js';
import { hasWord, t } from './words.js';

// A rule, by the page's word or else by what the daemon calls it, which knows every rule.
export const ruleName = (rule, served) => (hasWord(`rule.${rule}`) ? t(`rule.${rule}`) : (served ?? rule));

// A test of a procedure: a title of the configuration's own ("titles") goes before the rule's.
export const ruleTitle = (test) => (test.titles ? test.title : ruleName(test.rule, test.title));
