/** What the server computes from one revision of a shot, under one method version. SI throughout. */
import { z } from 'zod';
import { derivedBallSchema } from './derived-ball.ts';
import { estimateSchema } from './estimate.ts';
import { expectedSchema } from './expected.ts';
import { flagNames } from './flags.ts';
import { endings } from './shot.ts';

export { type Estimate, estimateSchema, type UncertaintyParts, uncertaintyPartsSchema } from './estimate.ts';

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

export const orderDiagnosisSchema = z
  .strictObject({
    order: z.int(),
    residualStandardDeviation: z.number(),
    cueSpeed: z.number(),
    cueSpeedUncertainty: z.number(),
    cueAcceleration: z.number().nullable(),
    cueAccelerationUncertainty: z.number().nullable(),
    aicc: z.number().nullable().meta({ description: 'Null with too few points.' }),
    fStatistic: z
      .number()
      .meta({ description: 'Against the order below, with 1 and points - order - 1 degrees of freedom.' }),
    press: z.number().nullable().meta({ description: 'Sum of squared leave-one-out prediction errors, m2.' }),
  })
  .meta({ id: 'OrderDiagnosis', description: 'Standard uncertainties here are those of white noise.' });

export const sensitivityRowSchema = z
  .strictObject({
    window: z.number().meta({ description: 's.' }),
    points: z.int(),
    order: z.int(),
    cueSpeed: z.number(),
    cueAcceleration: z.number(),
  })
  .meta({ id: 'FitSensitivityRow' });

export const trackFitSchema = z
  .strictObject({
    window: z.number().meta({ description: 'Length of the window before first contact used, s.' }),
    points: z.int(),
    order: z.int().meta({ description: 'Order with the largest weight.' }),
    fixedByRig: z.boolean(),
    residualStandardDeviation: z.number(),
    lagOneCorrelation: z.number(),
    durbinWatson: z.number().meta({ description: 'About 2 for independent residuals.' }),
    autoregression: z
      .number()
      .meta({ description: 'First-order autoregression of the noise that explains the lag-one correlation.' }),
    uncertaintyInflation: z
      .number()
      .meta({ description: 'Factor applied to the fit uncertainty for serial correlation; 1 when none.' }),
    outlyingFrames: z.array(z.number()),
    outlyingLeftOut: z.boolean().meta({ description: 'False when the rig asks only to report outlying frames.' }),
    candidates: z.array(orderCandidateSchema),
    orders: z.array(orderDiagnosisSchema).meta({ description: 'Orders 1 to 5 of the same window, for diagnosis.' }),
    sensitivity: z.array(sensitivityRowSchema).meta({
      description: 'Orders 2 to 4 at three quarters, all and five quarters of the window, as far as the track reaches.',
    }),
    exceedsNoise: z.boolean().meta({
      description:
        'Whether window or order change the result by more than noise explains; the change is then part of the uncertainty.',
    }),
    resolvingWindow: z.number().nullable().meta({
      description: 'Window that would resolve the acceleration, s; null when it is resolved, or when none would.',
    }),
  })
  .meta({ id: 'TrackFit' });
export type TrackFit = z.infer<typeof trackFitSchema>;

const instantInFrames = {
  frame: z.number().meta({ description: 'Frame number with a fraction.' }),
  standardUncertainty: z.number().min(0).meta({ description: 'In frames.' }),
};

export const firstContactFoundSchema = z
  .strictObject({
    source: z.enum(['declared', 'gap']).meta({
      description: 'declared: from the closed frame and trims; gap: where the tracked tip-ball gap closes.',
    }),
    ...instantInFrames,
    declared: z.strictObject(instantInFrames),
    fromBreak: z
      .strictObject({
        ...instantInFrames,
        speedLoss: z.number().meta({ description: 'Speed the cue loses at the break, m/s.' }),
      })
      .nullable()
      .meta({ description: 'First contact found in the track itself; only compared with the declared one.' }),
    fromGap: z
      .strictObject({
        ...instantInFrames,
        closingSpeed: z.number().meta({ description: 'Of tip and ball, m/s.' }),
        points: z.int(),
      })
      .nullable(),
  })
  .meta({ id: 'FirstContact' });
export type FirstContactFound = z.infer<typeof firstContactFoundSchema>;

export const contactTimeReadingSchema = z
  .strictObject({
    trimMeaning: z.enum(['correction', 'undecided', 'unknown']),
    exposureCriterion: z.enum(['anyPartOfExposure', 'wholeExposure', 'unknown']),
    value: z.number(),
    standardUncertainty: z.number(),
    lower: z.number(),
    upper: z.number(),
    used: z.boolean().meta({ description: 'What the rig says.' }),
  })
  .meta({ id: 'ContactTimeReading', description: 'Contact time if trims and exposure meant this, s.' });
export type ContactTimeReading = z.infer<typeof contactTimeReadingSchema>;

/** Results that carry a budget. */
export const budgetedResults = [
  'cueSpeed',
  'cueAcceleration',
  'contactTime',
  'tipOffset',
  'tipHeight',
  'outcomeDistance',
] as const;
export type BudgetedResult = (typeof budgetedResults)[number];

/** Results of the ball track that carry a budget; they stand under `ball`. */
export const ballResults = [
  'ballSpeed',
  'arrivalSpeed',
  'speedAfterImpact',
  'turningPoint',
  'slidingFriction',
  'rollingResistance',
  'impactTime',
] as const;
export type BallResult = (typeof ballResults)[number];

/** Values passed on as sent. Lines from method version 2 on. */
export const passedOnResults = ['objectBallDistance', 'cueMass', 'elevation'] as const;

/** What a measured ball speed says about the impact; it stands under `expected`. Lines from method version 2 on. */
export const impactResults = ['restitution', 'effectiveCueMass'] as const;

/** One line of an uncertainty budget (GUM, JCGM 100:2008 5.1): contribution = |sensitivity| * standard uncertainty. */
export const budgetLineSchema = z
  .strictObject({
    result: z.enum([...budgetedResults, ...ballResults, ...impactResults, ...passedOnResults]),
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
  quantity: z.enum(['cueSpeed', 'cueAcceleration', 'contactTime', 'tipOffset', 'ballSpeed', 'outcomeDistance']),
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
    contactTimeReadings: z.array(contactTimeReadingSchema).meta({
      description: 'The same count under each convention that would change it; empty when the contact is not resolved.',
    }),
    firstContact: firstContactFoundSchema.nullable().meta({ description: 'Null without a cue track.' }),
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
    ball: derivedBallSchema.nullable().meta({ description: 'From the ball track; null when none was sent.' }),
    expected: expectedSchema,
    budget: z.array(budgetLineSchema),
    compared: z.array(comparedValueSchema),
    reasons: z.record(z.string(), z.enum(nullReasons)).meta({ description: 'For each result that is null: why.' }),
    flags: z.array(z.enum(flagNames as [string, ...string[]])),
  })
  .meta({ id: 'DerivedShot' });
export type DerivedShot = z.infer<typeof derivedShotSchema>;
