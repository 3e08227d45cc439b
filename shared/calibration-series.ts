/** Series of shots by which a lab calibrates a table: roll-outs and stop shots, as measured. */
import { z } from 'zod';
import { measureOf } from './measure.ts';

const one = (quantity: Parameters<typeof measureOf>[0], description: string) =>
  measureOf(quantity).optional().meta({ description });
const speedUncertainty = one('ballSpeed', 'Standard uncertainty of the speed; 1 % when not given.');
const distanceUncertainty = one('objectBallDistance', 'Standard uncertainty of the distance; 5 mm when not given.');

export const rollOutSchema = z
  .strictObject({
    speed: measureOf('ballSpeed').meta({ description: 'Of natural roll, where the distance begins.' }),
    speedUncertainty,
    distance: measureOf('objectBallDistance').meta({ description: 'From there to rest, without a cushion.' }),
    distanceUncertainty,
  })
  .meta({ id: 'RollOut' });

export const stopShotSchema = z
  .strictObject({
    ballSpeed: measureOf('ballSpeed').meta({ description: 'Off the tip.' }),
    ballSpeedUncertainty: speedUncertainty,
    tipOffset: measureOf('tipOffset').meta({ description: 'b/R, negative: below centre.' }),
    tipOffsetUncertainty: one('tipOffset', 'Standard uncertainty of the tip offset; 0.02 when not given.'),
    distance: measureOf('objectBallDistance').meta({
      description: 'Travel of the cue ball to the object ball, hit full, at which it stops dead.',
    }),
    distanceUncertainty,
  })
  .meta({ id: 'StopShot' });

export const calibrationSeriesSchema = z
  .strictObject({
    rollOuts: z.array(rollOutSchema).max(500).default([]),
    stopShots: z.array(stopShotSchema).max(500).default([]),
    speedRelativeUncertainty: z.number().min(0).max(0.5).default(0.005).meta({
      description: 'Relative standard uncertainty common to all speeds of the series: scale and rate of the camera.',
    }),
    tipOffsetCommonUncertainty: z.number().min(0).max(0.5).default(0.01).meta({
      description: 'Standard uncertainty common to all tip offsets of the series: sizes of tip and shaft, elevation.',
    }),
  })
  .meta({ id: 'CalibrationSeries' });
export type CalibrationSeries = z.infer<typeof calibrationSeriesSchema>;
