/** Where shots are, and where the next ones would make new pairs. */
import { z } from 'zod';
import { scopeSchema, variableSchema } from './analysis.ts';
import { contrastSchema } from './comparison-specification.ts';

const step = (usual: number, description: string) =>
  z.coerce.number().positive().max(100).default(usual).meta({ description });

/** A contrast as the parts of a link: variable and at, or grouping, first and second. */
export const coverageQuerySchema = z.strictObject({
  variable: variableSchema
    .optional()
    .meta({ description: 'Contrast by the sign of this variable; cueAcceleration when nothing is said.' }),
  at: z.coerce
    .number()
    .optional()
    .meta({ description: 'Contrast above against below this value of the variable, SI.' }),
  grouping: z
    .enum(['lab', 'rig', 'cue', 'player', 'strokeStyle', 'grip', 'sessionDate'])
    .optional()
    .meta({ description: 'Contrast of two values of a grouping, instead of variable.' }),
  first: z.string().max(200).optional(),
  second: z.string().max(200).optional(),
  tipOffsetStep: step(0.05, 'Width of a cell in tip offset.'),
  cueSpeedStep: step(0.25, 'Width of a cell in cue speed, m/s.'),
  objectBallDistanceStep: step(
    0.1,
    'Shots whose object-ball distances fall in one step of this width can be pairs, m.',
  ),
  lab: z.string().max(80).optional().meta({ description: 'Only this lab.' }),
  scope: scopeSchema.default('shared'),
});
export type CoverageQuery = z.output<typeof coverageQuerySchema>;

const edges = (description: string) => z.strictObject({ from: z.number(), to: z.number() }).meta({ description });

export const coverageCellSchema = z
  .strictObject({
    lab: z.string(),
    tipOffset: edges('From included, to excluded.'),
    cueSpeed: edges('m/s; from included, to excluded.'),
    first: z.int().meta({ description: 'Shots on the first side of the contrast.' }),
    second: z.int(),
    pairs: z.int().meta({
      description:
        'Pairs that shots of the cell can make with each other, on the same set-up and object-ball distance.',
    }),
    firstWanted: z.int().meta({
      description: 'Shots of the first side that would each make a new pair here: the second side has them to spare.',
    }),
    secondWanted: z.int(),
  })
  .meta({ id: 'CoverageCell' });
export type CoverageCell = z.infer<typeof coverageCellSchema>;

export const coverageSchema = z
  .strictObject({
    contrast: contrastSchema,
    sides: z.strictObject({ first: z.string(), second: z.string() }).meta({ description: 'In words.' }),
    steps: z.strictObject({ tipOffset: z.number(), cueSpeed: z.number(), objectBallDistance: z.number() }),
    labs: z.array(
      z.strictObject({
        lab: z.string(),
        first: z.int(),
        second: z.int(),
        pairs: z.int(),
        firstWanted: z.int(),
        secondWanted: z.int(),
        sentence: z.string(),
      }),
    ),
    cells: z.array(coverageCellSchema).meta({ description: 'Cells with shots, by lab, tip offset, cue speed.' }),
    next: z.array(coverageCellSchema).meta({ description: 'The ten cells in which the next shots make most pairs.' }),
    leftOut: z.array(z.strictObject({ reason: z.string(), shots: z.int() })),
    dataVersion: z.string(),
    methodVersion: z.string(),
  })
  .meta({ id: 'Coverage' });
export type Coverage = z.infer<typeof coverageSchema>;
