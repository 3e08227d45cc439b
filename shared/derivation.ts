/** What the server computes from one revision of a shot, under one method version. SI throughout. */
import { z } from 'zod';
import { flagNames } from './flags.ts';
import { endings } from './shot.ts';

/** Standard uncertainty by what it is common to; the squares add up to that of the total. */
export const uncertaintyPartsSchema = z
  .strictObject({
    shot: z.number().min(0).meta({ description: 'Of this shot alone: averages away over shots.' }),
    rig: z.number().min(0).meta({ description: 'Common to all shots of the rig version.' }),
    cue: z.number().min(0).meta({ description: 'Common to all shots of the cue version.' }),
    table: z.number().min(0).meta({ description: 'Common to all shots of the table version (its balls and cloth).' }),
  })
  .meta({ id: 'UncertaintyParts' });
export type UncertaintyParts = z.infer<typeof uncertaintyPartsSchema>;

/** A value with its standard uncertainty and its 95 % interval (not always symmetric or normal). */
export const estimateSchema = z
  .strictObject({
    value: z.number(),
    standardUncertainty: z.number().min(0),
    lower: z.number().meta({ description: 'Lower end of the 95 % interval.' }),
    upper: z.number().meta({ description: 'Upper end of the 95 % interval.' }),
    parts: uncertaintyPartsSchema.optional(),
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

/** Results that carry a budget. */
export const budgetedResults = [
  'cueSpeed',
  'cueAcceleration',
  'contactTime',
  'tipOffset',
  'tipHeight',
  'outcomeDistance',
] as const;

/** One line of an uncertainty budget (GUM, JCGM 100:2008 5.1): contribution = |sensitivity| * standard uncertainty. */
export const budgetLineSchema = z
  .strictObject({
    result: z.enum(budgetedResults),
    input: z.string(),
    value: z.number().meta({ description: 'Of the input; 1 for a relative factor.' }),
    unit: z.string().meta({ description: 'UCUM code of value and standard uncertainty of the input.' }),
    standardUncertainty: z.number().min(0),
    sensitivity: z
      .number()
      .meta({ description: 'Change of the result with the input, SI over the unit of the input.' }),
    contribution: z.number().min(0).meta({ description: 'In the SI unit of the result.' }),
    kind: z.enum(['A', 'B']).meta({ description: 'A: from the scatter of observations. B: from anything else.' }),
    commonTo: z
      .enum(['shot', 'rig', 'cue', 'table'])
      .meta({ description: 'Shots that share the same error of this input: it does not average away among them.' }),
    group: z.string().nullable().meta({
      description:
        'Name of the correlation group: shots of one lab with the same group and input have the same error. Null when it is of this shot alone.',
    }),
  })
  .meta({ id: 'BudgetLine' });
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
