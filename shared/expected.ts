/** The outcome that mechanics expects, judged against the measured one where the table is calibrated. SI. */
import { z } from 'zod';
import { estimateSchema, uncertaintyPartsSchema } from './estimate.ts';

export const outcomeClasses = ['draw', 'stop', 'follow'] as const;
export type OutcomeClass = (typeof outcomeClasses)[number];

export const notJudgedReasons = ['noCalibration', 'notStraight', 'inputMissing', 'doesNotReach'] as const;

export const impactModels = ['measuredBallSpeed', 'constantRestitution', 'constantEnergyFraction'] as const;
export type ImpactModel = (typeof impactModels)[number];

const probability = z.number().min(0).max(1);

export const expectedInputSchema = z
  .strictObject({
    input: z.string(),
    value: z.number(),
    standardUncertainty: z.number().min(0),
    assumed: z.boolean().meta({ description: 'A common value, from memory, because the lab gave none.' }),
    contribution: z.number().min(0).meta({ description: 'To the uncertainty of the outcome distance, m.' }),
    unit: z.string().optional().meta({ description: 'UCUM code; from method version 2 on, as all that follows.' }),
    sensitivity: z
      .number()
      .optional()
      .meta({ description: 'Change of the outcome distance with the input, m over the unit of the input.' }),
    kind: z.enum(['A', 'B']).optional(),
    commonTo: z
      .enum(['shot', 'rig', 'cue', 'table'])
      .optional()
      .meta({ description: 'Shots that share the same error of this input.' }),
    group: z.string().nullable().optional().meta({ description: 'Name of the correlation group, as in BudgetLine.' }),
  })
  .meta({ id: 'ExpectationTerm' });

export const expectedByModelSchema = z
  .strictObject({
    model: z.enum(impactModels).meta({
      description:
        'measuredBallSpeed: from the measured ball speed; constantRestitution: rigid impulse with one restitution at every tip offset; constantEnergyFraction: one share of energy kept at every tip offset.',
    }),
    ballSpeed: z.number(),
    surfaceSpin: z.number().meta({ description: 'Radius times spin rate, m/s, positive topspin.' }),
    arrivalSpeed: z.number(),
    arrivalSurfaceSpin: z.number(),
    standardUncertainties: z
      .strictObject({
        ballSpeed: z.number().min(0).meta({ description: 'm/s.' }),
        surfaceSpin: z.number().min(0).meta({ description: 'Of the surface spin off the tip, m/s.' }),
        arrivalSpeed: z.number().min(0).meta({ description: 'm/s.' }),
        arrivalSurfaceSpin: z.number().min(0).meta({ description: 'm/s.' }),
      })
      .optional()
      .meta({ description: 'Of the four above, m/s; from method version 2 on.' }),
    outcomeDistance: estimateSchema,
    probability: z.strictObject({ draw: probability, stop: probability, follow: probability }),
    class: z.enum(outcomeClasses).meta({ description: 'The most probable one.' }),
    residual: z
      .strictObject({
        value: z.number().meta({ description: 'Measured minus expected outcome distance, m.' }),
        standardUncertainty: z.number().min(0),
        standardised: z.number().meta({ description: 'Value over standard uncertainty.' }),
        parts: uncertaintyPartsSchema.optional(),
      })
      .nullable()
      .meta({ description: 'Null when the outcome was not measured or is a bound.' }),
    inputs: z.array(expectedInputSchema),
  })
  .meta({ id: 'ExpectedByModel' });
export type ExpectedByModel = z.infer<typeof expectedByModelSchema>;

export const expectedSchema = z
  .strictObject({
    judged: z.boolean(),
    reason: z.enum(notJudgedReasons).nullable().meta({ description: 'Why it is not judged.' }),
    missing: z.array(z.string()).meta({ description: 'Inputs that were not there, for the reason inputMissing.' }),
    stopBand: z.number().meta({ description: 'Distances within it on both sides count as a stop, m.' }),
    observedClass: z.enum(outcomeClasses).nullable(),
    models: z.array(expectedByModelSchema),
    independent: z.boolean().optional().meta({
      description:
        'Whether restitution and effective cue mass are two findings. False: without the cue speed after the impact there is one equation, and each takes the other for known.',
    }),
    restitution: estimateSchema.nullable().meta({
      description: 'Of tip and ball, from measured cue and ball speed with the mass of the cue. Needs a ball speed.',
    }),
    effectiveCueMass: estimateSchema.nullable().meta({
      description:
        'Cue mass that explains the measured ball speed at the common restitution 0.75 (from memory), kg. Needs a ball speed.',
    }),
  })
  .meta({ id: 'Expected' });
export type Expected = z.infer<typeof expectedSchema>;
