/** What the server computes from one revision of a shot, under one method version. SI throughout. */
import { z } from 'zod';
import { flagNames } from './flags.ts';
import { endings } from './shot.ts';

/** A value with its standard uncertainty and its 95 % interval (not always symmetric or normal). */
export const estimateSchema = z
  .strictObject({
    value: z.number(),
    standardUncertainty: z.number().min(0),
    lower: z.number().meta({ description: 'Lower end of the 95 % interval.' }),
    upper: z.number().meta({ description: 'Upper end of the 95 % interval.' }),
  })
  .meta({ id: 'Estimate' });
export type Estimate = z.infer<typeof estimateSchema>;

export const nullReasons = [
  'notSent',
  'notResolved',
  'orderOneHasNoAcceleration',
  'needsCue',
  'needsTable',
  'censored',
] as const;

export const orderCandidateSchema = z.strictObject({
  order: z.int(),
  points: z.int(),
  cueSpeed: z.number(),
  cueSpeedUncertainty: z.number(),
  cueAcceleration: z.number().nullable(),
  cueAccelerationUncertainty: z.number().nullable(),
  residualStandardDeviation: z.number(),
  aicc: z.number(),
  weight: z.number(),
});

export const trackFitSchema = z
  .strictObject({
    window: z.number().meta({ description: 'Length of the window before first contact used, s.' }),
    points: z.int(),
    order: z.int().meta({ description: 'Order with the largest weight.' }),
    fixedByRig: z.boolean(),
    residualStandardDeviation: z.number(),
    lagOneCorrelation: z.number(),
    uncertaintyInflation: z
      .number()
      .meta({ description: 'Factor applied to the fit uncertainty for serial correlation; 1 when none.' }),
    outlyingFrames: z.array(z.number()),
    candidates: z.array(orderCandidateSchema),
  })
  .meta({ id: 'TrackFit' });
export type TrackFit = z.infer<typeof trackFitSchema>;

/** One line of an uncertainty budget (GUM): contribution = |sensitivity| * standard uncertainty, in the unit of the result. */
export const budgetLineSchema = z.strictObject({
  result: z.enum(['cueSpeed', 'cueAcceleration', 'contactTime', 'tipOffset', 'outcomeDistance']),
  input: z.string(),
  contribution: z.number(),
  kind: z.enum(['A', 'B']),
  commonTo: z
    .enum(['shot', 'rig', 'cue'])
    .meta({ description: 'Shots that share the same error of this input: it does not average away among them.' }),
});
export type BudgetLine = z.infer<typeof budgetLineSchema>;

export const comparedValueSchema = z.strictObject({
  quantity: z.enum(['cueSpeed', 'cueAcceleration', 'contactTime', 'tipOffset']),
  reported: z.number(),
  recomputed: z.number(),
  combinedUncertainty: z.number(),
});

export const derivedShotSchema = z
  .strictObject({
    methodVersion: z.string(),
    source: z.enum(['track', 'reported']).meta({
      description:
        'track: recomputed from the cue track. reported: no track was sent; left out of pooling unless asked for.',
    }),
    cueSpeed: estimateSchema.nullable(),
    cueAcceleration: estimateSchema.nullable(),
    covarianceSpeedAcceleration: z.number().nullable(),
    contactTime: estimateSchema.nullable(),
    contactTimeBounds: z.strictObject({ least: z.number(), most: z.number() }).nullable(),
    countedContactTime: z.number().nullable(),
    tipOffset: estimateSchema.nullable(),
    tipHeight: estimateSchema.nullable(),
    objectBallDistance: z.number().nullable(),
    outcomeDistance: estimateSchema.nullable().meta({ description: 'Null when not sent or censored.' }),
    outcomeBound: z
      .number()
      .nullable()
      .meta({ description: 'When the outcome did not end at rest: the distance reached, a bound and not a value.' }),
    ended: z.enum(endings).nullable(),
    ballSpeed: z.number().nullable(),
    cueMass: z.number().nullable(),
    elevation: z.number().nullable(),
    fit: trackFitSchema.nullable(),
    budget: z.array(budgetLineSchema),
    compared: z.array(comparedValueSchema),
    reasons: z.record(z.string(), z.enum(nullReasons)).meta({ description: 'For each result that is null: why.' }),
    flags: z.array(z.enum(flagNames as [string, ...string[]])),
  })
  .meta({ id: 'DerivedShot' });
export type DerivedShot = z.infer<typeof derivedShotSchema>;
