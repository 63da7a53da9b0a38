// What ends soon, or has ended, and concerns who looks or this job: before it stops a repair.
import { el } from './dom.js';
import { t } from './words.js';
import { personTitle } from './refusals.js';

const KINDS = ['calibration-ended', 'credential-ended', 'calibration-ends', 'credential-ends'];

// Instruments that this job's checks and tests take; people of its crew, and who looks.
function concerns(ctx, { notice, subject, kind }) {
  if (notice.startsWith('credential'))
    return subject === ctx.who.person || ctx.job?.crew.some((c) => c.person === subject);
  const { checks = [], tests = [] } = ctx.procedure ?? {};
  return [...checks, ...tests].some((x) => x.instrument === kind);
}

export function noticesSection(ctx) {
  const mine = (ctx.state.notices ?? []).filter(
    (n) => KINDS.includes(n.notice) && concerns(ctx, n),
  );
  const said = ({ notice, subject, kind, until }) =>
    t(`notice.${notice}`, { subject: personTitle(ctx.equipment, subject), kind, until });
  return (
    mine.length > 0 &&
    el(
      'section',
      { id: 'notices', class: 'rows' },
      el('h2', {}, t('page.notices')),
      el(
        'ul',
        {},
        mine.map((n) => el('li', {}, said(n))),
      ),
    )
  );
}
