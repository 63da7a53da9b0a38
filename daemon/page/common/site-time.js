// The calendar and the clock at a site.

// What they show at an instant, as texts of digits: {year, month, day, hour, minute, second}.
export function siteTime(at, timeZone) {
  const two = '2-digit';
  const parts = new Intl.DateTimeFormat('en', {
    timeZone,
    hourCycle: 'h23',
    year: 'numeric',
    month: two,
    day: two,
    hour: two,
    minute: two,
    second: two,
  }).formatToParts(new Date(at));
  return Object.fromEntries(parts.map(({ type, value }) => [type, value]));
}
