// The forms of the day around a repair: fields, and the body that they make.
import { language, t } from './words.js';

const text = (name, label, more = {}) => ({ name, kind: 'text', label: t(label), ...more });
const same = (values) => values;

const faultForm = (ctx, action) => ({
  title: t(action.label),
  hint: t('form.fault-hint'),
  fields: [text('text', 'form.fault', { long: true, lang: language() })],
  make: same,
});

const expectedForm = (ctx, action) => ({
  title: t(action.label),
  fields: [
    { name: 'at', kind: 'when', label: t('form.expected') },
    text('note', 'form.note', { optional: true }),
  ],
  make: ({ at, ...values }) => ({ ...values, at: new Date(at).toISOString() }),
});

// What an attachment may be of: nothing but the job, or one of its checks and tests.
const aboutOptions = (ctx) => [
  ...(ctx.procedure?.checks ?? []).map((c) => ({ value: `check ${c.check}`, label: c.ask })),
  ...(ctx.procedure?.tests ?? []).map((x) => ({ value: `test ${x.test}`, label: x.test })),
];

const attachmentForm = (ctx, action) => ({
  title: t(action.label),
  hint: t('form.attach-hint'),
  fields: [
    text('title', 'form.attach-title'),
    text('url', 'form.attach-url'),
    text('sha256', 'form.attach-sha256'),
    {
      name: 'about',
      kind: 'pick',
      label: t('form.attach-about'),
      options: aboutOptions(ctx),
      optional: true,
    },
  ],
  make({ about, ...values }) {
    const [kind, id] = about?.split(' ') ?? [];
    return kind ? { ...values, [kind]: id } : values;
  },
});

export const DAY_FORMS = {
  fault: faultForm,
  expected: expectedForm,
  attachment: attachmentForm,
};
