/** What the server computes from a ball track. SI; times in s on the clock of the ball's camera. */
import { z } from 'zod';
import { estimateSchema } from './estimate.ts';
import { endings } from './shot.ts';

export const ballPhases = ['beforeImpact', 'afterImpact'] as const;

const fromVersionTwo = (what: string) =>
  z
    .number()
    .min(0)
    .optional()
    .meta({ description: `Standard uncertainty ${what}; from method version 2 on.` });

const residual = z.number().nullable().meta({ description: 'Scatter of the positions about the fit, m.' });

export const derivedBallSchema = z
  .discriminatedUnion('read', [
    z.strictObject({
      read: z.literal(false),
      reason: z.enum(['tooFewPoints', 'scaleMissing', 'notIncreasing', 'notFinite']),
    }),
    z.strictObject({
      read: z.literal(true),
      points: z.int(),
      captureRate: z.number(),
      residualStandardDeviation: z.strictObject({ beforeImpact: residual, afterImpact: residual }),
      ballSpeed: estimateSchema.nullable().meta({
        description: 'Off the tip. Null when the start is not on film, or sliding after it is too short to be seen.',
      }),
      arrivalSpeed: estimateSchema.nullable().meta({ description: 'At the object ball, just before the impact.' }),
      speedAfterImpact: estimateSchema.nullable().meta({ description: 'Signed.' }),
      impactTime: estimateSchema
        .nullable()
        .meta({ description: 'Frame number over capture rate, between frames, s. Null when no impact is on film.' }),
      turningPoint: z
        .strictObject({ distance: estimateSchema, time: z.number(), timeUncertainty: fromVersionTwo('of the time, s') })
        .nullable()
        .meta({ description: 'Where a ball that goes on comes back, from the impact; time after it.' }),
      outcomeDistance: estimateSchema.nullable().meta({ description: 'From impact to rest; null when not seen.' }),
      timeToRest: z.number().nullable(),
      timeToRestUncertainty: fromVersionTwo('of the time to rest, s'),
      outcomeBound: z.number().nullable().meta({
        description: 'Last distance before a rail or the end of the film, when the ball does not come to rest.',
      }),
      outcomeBoundUncertainty: fromVersionTwo('of the bound, m'),
      ended: z.enum(endings).nullable(),
      slideToRoll: z
        .array(
          z.strictObject({
            phase: z.enum(ballPhases),
            time: z.number(),
            standardUncertainty: fromVersionTwo('of the time, s'),
          }),
        )
        .meta({
          description:
            'When sliding ended, where the film shows it. A stretch that is not named is fitted as one phase.',
        }),
      slidingFriction: estimateSchema.nullable(),
      rollingResistance: estimateSchema
        .nullable()
        .meta({ description: 'Deceleration over gravity (not the energy definition, which is 7/5 of it).' }),
      outcomeOverTime: z
        .array(
          z.strictObject({
            time: z.number(),
            distance: z.number(),
            standardUncertainty: fromVersionTwo('of the distance, m'),
          }),
        )
        .meta({ description: 'Distance from the impact by the fit, at equal times from the impact on.' }),
    }),
  ])
  .meta({ id: 'DerivedBall' });
export type DerivedBall = z.infer<typeof derivedBallSchema>;
