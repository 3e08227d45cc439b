/** Calibrating a table by a series: what is asked, what comes of it, and where it is used. */
import { z } from 'zod';
import { calibrationSeriesSchema } from './calibration-series.ts';
import { tableCalibrationSchema } from './gear.ts';
import { slugSchema, storableText } from './measure.ts';

const { slidingFriction, rollingResistance, ballRestitution, ballFriction } = tableCalibrationSchema.shape;

export const calibrationInputSchema = z
  .strictObject({
    series: calibrationSeriesSchema,
    slidingFriction: slidingFriction.optional().meta({
      description: 'Without stop shots; else that of the newest version is kept.',
    }),
    rollingResistance: rollingResistance.optional().meta({
      description: 'Without roll-outs; else that of the newest version is kept.',
    }),
    ballRestitution: ballRestitution.meta({
      description: 'Of two balls; else that of the newest version, else 0.95 with u = 0.02 (from memory).',
    }),
    ballFriction: ballFriction.meta({
      description: 'Between two balls; else that of the newest version, else 0.06 with u = 0.02 (from memory).',
    }),
    note: storableText(0, 500).optional(),
  })
  .meta({ id: 'CalibrationInput' });
export type CalibrationInput = z.infer<typeof calibrationInputSchema>;

export const calibratedFrictionSchema = z
  .strictObject({
    value: z.number(),
    standardUncertainty: z.number().min(0),
    trials: z
      .array(z.strictObject({ value: z.number(), standardUncertainty: z.number().min(0) }))
      .meta({ description: 'What each shot of the series gives by itself, in the order sent.' }),
    budget: z.array(
      z.strictObject({
        input: z.string(),
        value: z.number(),
        unit: z.string(),
        standardUncertainty: z.number().min(0),
        sensitivity: z.number(),
        contribution: z.number().min(0),
        kind: z.enum(['A', 'B']),
      }),
    ),
  })
  .meta({ id: 'CalibratedFriction', description: 'A pure number with its uncertainty budget.' });
export type CalibratedFriction = z.infer<typeof calibratedFrictionSchema>;

export const tableCalibrationRecordSchema = z
  .strictObject({
    lab: slugSchema,
    name: slugSchema,
    version: z.int().nullable().meta({ description: 'Of the table; null for a dry run.' }),
    createdAt: z.iso.datetime().nullable(),
    calibration: tableCalibrationSchema,
    slidingFriction: calibratedFrictionSchema.nullable().meta({ description: 'Null when no stop shots were sent.' }),
    rollingResistance: calibratedFrictionSchema
      .nullable()
      .meta({ description: 'By deceleration. Null when no roll-outs were sent.' }),
    usedBy: z
      .strictObject({
        shots: z.int().meta({ description: 'Current shots, of those that the caller may see, on this version.' }),
        judged: z.int().meta({ description: 'Of these, with an outcome residual that rests on it.' }),
      })
      .meta({ description: 'Where it is used.' }),
  })
  .meta({ id: 'TableCalibrationRecord' });
export type TableCalibrationRecord = z.infer<typeof tableCalibrationRecordSchema>;
