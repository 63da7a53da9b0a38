// The forms of the day around a repair: fields, and the body that they make.
import { language, t } from './words.js';

const text = (name, label, more = {}) => ({ name, kind: 'text', label: t(label), ...more });
const same = (values) => values;

const volume = (name, label, more = {}) => ({
  name,
  kind: 'number',
  label: t(label),
  unitOf: 'unit',
  optional: true,
  ...more,
});

// The unit of all volumes of a form: it begins with the one in which the job's fuel is told, else with that
// in which the site measures.
const unitField = (ctx) => ({
  name: 'unit',
  kind: 'unit',
  label: t('form.unit'),
  units: ['gal', 'L'],
  value: ctx.job?.fuel?.[0]?.unit ?? ctx.equipment.volume_unit,
});

// The products of the position, where they are configured; else a word.
function productField(ctx) {
  const here = ctx.equipment.positions.find((p) => p.position === ctx.position);
  const options = (here?.products ?? []).map((p) => ({ value: p, label: p }));
  return options.length > 0
    ? { name: 'product', kind: 'pick', label: t('form.product'), options }
    : text('product', 'form.product');
}

const fuelForm = (ctx, action) => ({
  title: t(action.label),
  hint: t('form.fuel-hint'),
  fields: [
    productField(ctx),
    unitField(ctx),
    volume('totalizer_before', 'form.totalizer-before'),
    volume('totalizer_after', 'form.totalizer-after'),
    volume('drawn', 'form.drawn', { negative: true }),
    volume('returned', 'form.returned', { negative: true }),
    text('tank', 'form.tank', { optional: true, hint: t('form.tank-hint') }),
    volume('kept', 'form.kept', { negative: true }),
    text('note', 'form.note', { optional: true }),
  ],
  make: same,
});

const partForm = (ctx, action) => ({
  title: t(action.label),
  hint: t('form.part-hint'),
  fields: [
    text('part', 'form.part-kind', { hint: t('form.part-kinds') }),
    text('family', 'form.part-family', { optional: true }),
    text('serial', 'form.part-serial', { optional: true }),
    { name: 'due', kind: 'day', label: t('form.part-due'), optional: true },
  ],
  make: same,
});

const spillForm = (ctx, action) => ({
  title: t(action.label),
  hint: t('form.spill-hint'),
  fields: [
    productField(ctx),
    unitField(ctx),
    volume('quantity', 'form.spilled', { optional: false }),
    { name: 'sheen', kind: 'attest', label: t('form.sheen') },
    { name: 'cleaned', kind: 'when', label: t('form.cleaned'), optional: true },
    text('note', 'form.note', { optional: true }),
  ],
  make: ({ cleaned, ...values }) => ({
    ...values,
    ...(cleaned ? { cleaned: new Date(cleaned).toISOString() } : {}),
  }),
});

const reportedForm = (ctx, action) => ({
  title: t(action.label, action.values),
  fields: [text('reference', 'form.reference')],
  make: same,
});

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
  fuel: fuelForm,
  part: partForm,
  spill: spillForm,
  reported: reportedForm,
  fault: faultForm,
  expected: expectedForm,
  attachment: attachmentForm,
};
