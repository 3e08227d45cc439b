/** Pooled regression: the question. The answer stands in regression.ts. */
import { z } from 'zod';
import { commonSpecification, variableSchema } from './analysis.ts';

const factorSchema = z.strictObject({ variable: variableSchema, power: z.int().min(1).max(5).default(1) });
export const termSchema = z
  .array(factorSchema)
  .min(1)
  .max(3)
  .meta({ description: 'A term is a product of powers of variables; most terms are one variable.' });

export const labModels = ['fixed', 'ignored', 'randomIntercept', 'sessionsInLabs', 'synthesis'] as const;
export const labsSchema = z
  .enum(labModels)
  .default('fixed')
  .meta({
    description:
      'fixed: one intercept a lab, so that only differences within a lab count. ignored: one intercept for all, as a diagnostic only. ' +
      'randomIntercept: lab levels drawn from a normal distribution (REML). sessionsInLabs: so are the sessions (dates) of a lab. ' +
      "synthesis: the mean of the labs' own slopes, which may differ between labs (REML, Hartung-Knapp).",
  });
export const standardErrorsSchema = z
  .enum(['clusterRobust', 'classical'])
  .default('clusterRobust')
  .meta({
    description:
      'For labs fixed or ignored. clusterRobust: CR2 with Satterthwaite degrees of freedom. The other models carry standard errors of ' +
      'their own (Kenward-Roger, Hartung-Knapp), and this is then written classical.',
  });
export const clusterBySchema = z
  .enum(['lab', 'rig', 'player'])
  .default('lab')
  .meta({ description: 'Which shots may err together, for cluster-robust standard errors.' });
export const measurementErrorSchema = z
  .enum(['ignored', 'corrected'])
  .default('ignored')
  .meta({
    description:
      'corrected: slopes corrected by the stated uncertainties of each shot stand beside the others. For labs fixed or ignored and ' +
      'terms that are single variables.',
  });

const curveSchema = z
  .strictObject({
    variable: variableSchema,
    points: z.int().min(2).max(200).default(41),
    at: z
      .array(z.strictObject({ variable: variableSchema, value: z.number() }))
      .max(8)
      .default([])
      .meta({ description: 'Values at which the other variables are held, in SI; their mean where none is given.' }),
  })
  .meta({ id: 'CurveRequest' });

const declaredRangeSchema = z
  .strictObject({ variable: variableSchema, min: z.number(), max: z.number() })
  .refine(({ min, max }) => max > min, { message: 'max must be above min' })
  .meta({ id: 'DeclaredRange' });

export const regressionSpecificationSchema = z
  .strictObject({
    response: variableSchema,
    terms: z
      .array(termSchema)
      .max(8)
      .meta({ description: 'None asks for the mean alone; labs must then not be fixed or synthesis.' }),
    intercept: z.boolean().default(true).meta({ description: 'false: through the origin; only with labs ignored.' }),
    labs: labsSchema,
    standardErrors: standardErrorsSchema,
    clusterBy: clusterBySchema,
    measurementError: measurementErrorSchema,
    declaredRanges: z
      .array(declaredRangeSchema)
      .max(20)
      .default([])
      .meta({
        description:
          'Range of a variable of the terms, SI, on which powers enter as Chebyshev polynomials and over which the curve is drawn; ' +
          'the range of the shots where none is declared. Declare it where answers are to be compared with later ones.',
      }),
    influence: z
      .boolean()
      .default(false)
      .meta({ description: 'true: name the shots that move the answer most (labs fixed or ignored).' }),
    curve: curveSchema
      .nullable()
      .default(null)
      .meta({ description: 'The curve to draw; null for the first variable of the terms, the others at their means.' }),
    ...commonSpecification,
  })
  .meta({ id: 'RegressionSpecification' });
export type RegressionSpecification = z.output<typeof regressionSpecificationSchema>;
