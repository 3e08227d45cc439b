/** Labs and their gear: rig, cue and table. Every piece of gear is versioned; a version never changes. */
import { z } from 'zod';
import { calibrationSeriesSchema } from './calibration-series.ts';
import { measureOf, slugSchema, storableText } from './measure.ts';

export const labInputSchema = z
  .strictObject({
    slug: slugSchema,
    title: storableText(1, 120),
    dataLicence: storableText(1, 60).meta({
      description: 'SPDX identifier of the licence of the data, for example CC-BY-4.0.',
    }),
    consentReference: storableText(1, 200).meta({
      description: 'Reference of the ethics decision or consent form under which the lab films.',
    }),
  })
  .meta({ id: 'LabRegistration' });
export type LabInput = z.infer<typeof labInputSchema>;

export const trimMeanings = ['correction', 'undecided', 'unknown'] as const;
export const exposureCriteria = ['anyPartOfExposure', 'wholeExposure', 'unknown'] as const;

const relativeUncertainty = z.number().min(0).max(0.5);

export const rigContentSchema = z
  .strictObject({
    captureRate: measureOf('captureRate'),
    playbackRate: measureOf('playbackRate').optional(),
    exposure: measureOf('exposure').optional(),
    exposureCriterion: z.enum(exposureCriteria).default('unknown').meta({
      description:
        'A frame counts as contact if tip and ball touch in any part of its exposure, only in the whole of it, or it is not known.',
    }),
    scale: measureOf('scale').optional(),
    scaleRelativeUncertainty: relativeUncertainty.default(0.003).meta({
      description: 'Relative standard uncertainty of all lengths of this rig; common to every shot of the rig.',
    }),
    clockRelativeUncertainty: relativeUncertainty.default(0.0001).meta({
      description: 'Relative standard uncertainty of the capture rate; common to every shot of the rig.',
    }),
    positiveTowardsBall: z
      .boolean()
      .default(true)
      .meta({ description: 'False when positions grow away from the ball.' }),
    trimMeaning: z.enum(trimMeanings).default('unknown').meta({
      description:
        'Why frames are left out at each end of the contact: correction (the gap closes early to the eye), undecided, unknown.',
    }),
    heightReference: z
      .enum(['ballCentre', 'cloth'])
      .default('ballCentre')
      .meta({ description: 'Zero of tip-height readings.' }),
    heightPositiveUp: z.boolean().default(true),
    heightUncertainty: measureOf('heightReading').optional().meta({
      description: 'Standard uncertainty of one height reading; 0.3 mm when not given.',
    }),
    ringParallax: measureOf('heightReading').optional().meta({
      description:
        'Standard uncertainty of ring readings by parallax, common to the rig: the rings lie nearer the camera than the contact. One degree of camera height over a ball radius when not given.',
    }),
    ringHeights: z
      .strictObject({
        unit: z.string().min(1).max(40).meta({ description: 'Length unit, or R.' }),
        values: z.array(z.number().gt(0)).min(1).max(100),
      })
      .optional()
      .meta({
        description:
          'Height above the ball centre of ring 1, 2, 3 and so on, increasing, when the rings of a scale are not even; a reading between two rings is interpolated.',
      }),
    fit: z
      .strictObject({
        order: z
          .int()
          .min(1)
          .max(5)
          .optional()
          .meta({ description: 'Fixed polynomial order; else 2, 3 and 4 are weighed by AICc.' }),
        window: measureOf('trackTime')
          .optional()
          .meta({ description: 'Length of the window before first contact; 40 ms when not given.' }),
        outlyingFrames: z.enum(['leaveOut', 'report']).optional().meta({
          description:
            'Frames that stray from the track beyond chance: left out of the fit (when not given), or only listed.',
        }),
      })
      .default({}),
    note: storableText(0, 500).optional(),
  })
  .meta({ id: 'RigContent' });
export type RigContent = z.infer<typeof rigContentSchema>;

export const cueContentSchema = z
  .strictObject({
    mass: measureOf('cueMass').optional(),
    length: measureOf('cueLength').optional(),
    shaftRadius: measureOf('shaftRadius').optional(),
    tipDiameter: measureOf('tipDiameter').optional(),
    tipRadius: z
      .union([measureOf('tipRadius'), z.enum(['dime', 'nickel'])])
      .optional()
      .meta({
        description: 'Dome radius, or the common shape names dime (8.95 mm) and nickel (10.6 mm).',
      }),
    tipMaterial: storableText(0, 60).optional(),
    tipHardness: storableText(0, 60).optional(),
    chalked: z.boolean().optional(),
    note: storableText(0, 500).optional(),
  })
  .meta({ id: 'CueContent' });
export type CueContent = z.infer<typeof cueContentSchema>;

export const disciplines = ['pool', 'snooker', 'carom', 'small', 'other'] as const;
export type Discipline = (typeof disciplines)[number];

export const calibrationMethods = ['rollOut', 'stopShots', 'ballTracks', 'rollOutAndStopShots'] as const;
export const rollingDefinitions = ['deceleration', 'energy'] as const;

const calibrated = (least: number, most: number) => ({
  value: z.number().min(least).max(most),
  standardUncertainty: z.number().min(0).max(most),
});

/** Friction and restitution that a lab measured on this table with these balls. */
export const tableCalibrationSchema = z
  .strictObject({
    method: z.enum(calibrationMethods),
    slidingFriction: z.strictObject(calibrated(0.02, 1)).meta({ description: 'Of ball and cloth.' }),
    rollingResistance: z
      .strictObject({
        ...calibrated(0.001, 0.14),
        definition: z.enum(rollingDefinitions).meta({
          description:
            'deceleration: deceleration of a rolling ball over gravity; energy: 7/5 of it (loss of all kinetic energy over weight and distance). Must be named: the two differ by 40 %.',
        }),
      })
      .meta({ description: 'Of a rolling ball.' }),
    ballRestitution: z.strictObject(calibrated(0, 1)).optional().meta({ description: 'Of two balls.' }),
    ballFriction: z.strictObject(calibrated(0, 1)).optional().meta({ description: 'Between two balls.' }),
    note: z.string().max(500).optional(),
    series: calibrationSeriesSchema.optional().meta({
      description: 'The series that gave it, kept by POST .../calibrations; sent otherwise it must give these values.',
    }),
  })
  .meta({ id: 'TableCalibration' });
export type TableCalibration = z.infer<typeof tableCalibrationSchema>;

export const tableContentSchema = z
  .strictObject({
    discipline: z.enum(disciplines),
    ballDiameter: measureOf('ballDiameter').optional(),
    ballMass: measureOf('ballMass').optional(),
    length: measureOf('tableLength').optional(),
    cloth: storableText(0, 80).optional(),
    ballSet: storableText(0, 80).optional(),
    calibration: tableCalibrationSchema
      .optional()
      .meta({ description: 'Without it the expected outcome is not judged.' }),
    stopBand: measureOf('outcomeDistance').optional().meta({
      description: 'Outcome distances within this on both sides count as a stop; half a ball when not given.',
    }),
    note: storableText(0, 500).optional(),
  })
  .meta({ id: 'TableContent' });
export type TableContent = z.infer<typeof tableContentSchema>;

export const gearKinds = ['rigs', 'cues', 'tables'] as const;
export type GearKind = (typeof gearKinds)[number];
export const gearContentSchemas = {
  rigs: rigContentSchema,
  cues: cueContentSchema,
  tables: tableContentSchema,
} as const;
