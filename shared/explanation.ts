/** A derivation that explains itself: from what was sent, step by step, to each number and its budget. */
import { z } from 'zod';
import { budgetLineSchema, derivedShotSchema, estimateSchema } from './derivation.ts';

/** Sections of the methods text that a derivation refers to; each is an anchor there. */
export const methodSections = [
  'units-and-gear',
  'first-contact',
  'fit-window',
  'tracker-jumps',
  'fit-order',
  'fit-uncertainty',
  'fit-sensitivity',
  'common-errors',
  'intervals',
  'contact-time',
  'tip-offset',
  'ball-track',
  'outcome',
  'expected-outcome',
  'reported-values',
  'limits',
  'uncertainty-budget',
] as const;
export type MethodSection = (typeof methodSections)[number];

export const explainedNumberSchema = z
  .strictObject({
    name: z.string(),
    value: z.union([z.number(), z.string()]).nullable(),
    unit: z.string().nullable().meta({ description: 'UCUM code; null for counts of nothing and for words.' }),
  })
  .meta({ id: 'ExplainedNumber' });
export type ExplainedNumber = z.infer<typeof explainedNumberSchema>;

export const derivationInputSchema = z
  .strictObject({
    name: z.string(),
    sent: z.string().nullable().meta({ description: 'As the lab sent it; null when it did not.' }),
    value: z.number().nullable().meta({ description: 'As used, SI.' }),
    unit: z.string().nullable(),
    standardUncertainty: z.number().nullable().meta({ description: 'Null where none is used.' }),
    from: z.string().meta({ description: 'The shot, a gear version, or: assumed.' }),
  })
  .meta({ id: 'DerivationInput' });
export type DerivationInput = z.infer<typeof derivationInputSchema>;

export const derivationStepSchema = z
  .strictObject({
    title: z.string(),
    done: z.string().meta({ description: 'What was done, in words.' }),
    formula: z.string().nullable(),
    numbers: z.array(explainedNumberSchema),
    methods: z.string().meta({ description: 'The section of the methods text that gives reasons and sources.' }),
  })
  .meta({ id: 'DerivationStep' });
export type DerivationStep = z.infer<typeof derivationStepSchema>;

export const resultBudgetSchema = z
  .strictObject({
    result: budgetLineSchema.shape.result,
    unit: z.string(),
    estimate: estimateSchema,
    lines: z.array(budgetLineSchema).meta({ description: 'Largest contribution first.' }),
  })
  .meta({ id: 'ResultBudget' });
export type ResultBudget = z.infer<typeof resultBudgetSchema>;

export const explainedDerivationSchema = z
  .strictObject({
    shot: z.uuid(),
    lab: z.string(),
    label: z.string(),
    revision: z.int(),
    methodVersion: z.string(),
    result: derivedShotSchema,
    inputs: z.array(derivationInputSchema),
    steps: z.array(derivationStepSchema),
    budget: z.array(resultBudgetSchema),
    flags: z.array(z.strictObject({ name: z.string(), meaning: z.string(), leftOut: z.boolean() })),
    figure: z.string().meta({ description: 'Address of the drawing of this derivation.' }),
  })
  .meta({ id: 'ExplainedDerivation' });
export type ExplainedDerivation = z.infer<typeof explainedDerivationSchema>;
