// What hangs at a position: how old each part is, what is overdue, what was fitted too often.
import './hangs-words.js';
import { siteTime } from './site-time.js';
import { t } from './words.js';

const dayAt = (at, zone) => {
  const { year, month, day } = siteTime(at, zone);
  return `${year}-${month}-${day}`;
};

// "4 y 2 mo", "2 mo", "12 d": whole years and months of the calendar, days within the first month.
export function ageOf(fitted, now, zone) {
  const [from, to] = [dayAt(fitted, zone), dayAt(now, zone)];
  const [y0, m0, d0] = from.split('-').map(Number);
  const [y1, m1, d1] = to.split('-').map(Number);
  const months = (y1 - y0) * 12 + (m1 - m0) - (d1 < d0 ? 1 : 0);
  if (months < 1) {
    const days = Math.max(0, Math.round((Date.parse(to) - Date.parse(from)) / 86_400_000));
    return t('hangs.days', { days });
  }
  const years = Math.floor(months / 12);
  const rest = months % 12;
  if (years === 0) return t('hangs.months', { months });
  return rest === 0 ? t('hangs.years', { years }) : t('hangs.years-months', { years, months: rest });
}

// A day is the last on which a part is good.
export const isOverdue = ({ due }, now, zone) => Boolean(due) && dayAt(now, zone) > due;

// {text, bad} of each part of a position's document.
export function hangsOf(told, now, zone) {
  const times = (part) => told.repeats?.find((r) => r.part === part);
  return (told.hangs ?? []).map((one) => {
    const overdue = isOverdue(one, now, zone);
    const again = times(one.part);
    const parts = [
      `${one.part} ${ageOf(one.fitted, now, zone)}`,
      one.family && t('hangs.family', { family: one.family }),
      one.serial && t('hangs.serial', { serial: one.serial }),
      one.due && t(overdue ? 'hangs.overdue' : 'hangs.due', { due: one.due }),
      again && t('hangs.again', { times: again.times, days: again.days }),
    ];
    return { text: parts.filter(Boolean).join(', '), bad: overdue || Boolean(again) };
  });
}
