/** Pooled regression: the answer, and with it the question (regression-specification.ts). */
import { z } from 'zod';
import { intervalSchema, provenanceSchema, variableSchema, warningSchema } from './analysis.ts';
import { regressionSpecificationSchema } from './regression-specification.ts';

export { type RegressionSpecification, regressionSpecificationSchema, termSchema } from './regression-specification.ts';

const inference = {
  estimate: z.number(),
  standardError: z.number(),
  degreesOfFreedom: z.number(),
  interval: intervalSchema,
};

export const coefficientSchema = z
  .strictObject({
    term: z
      .string()
      .meta({ description: 'Such as cueSpeed, cueSpeed^2 or cueSpeed*tipOffset; intercept when there is one.' }),
    unit: z.string(),
    ...inference,
    pValue: z.number(),
    smallestDetectable: z
      .number()
      .meta({ description: 'Slope that this much data shows with 80 % power at the stated confidence.' }),
    varianceInflation: z.number().nullable().meta({
      description: '1 / (1 - R2) of the term on the others, within labs when labs are fixed; null for the intercept.',
    }),
    sentence: z.string().meta({ description: 'What the coefficient says, in words, with unit and interval.' }),
  })
  .meta({ id: 'Coefficient' });

export const labSlopesSchema = z
  .strictObject({
    lab: z.string(),
    shots: z.int(),
    coefficients: z
      .array(
        z.strictObject({
          term: z.string(),
          ...inference,
          weight: z
            .number()
            .nullable()
            .meta({ description: 'Weight of the lab in the synthesis of this term; null when there is none.' }),
        }),
      )
      .nullable()
      .meta({ description: 'Null when this lab alone cannot give the slopes.' }),
    shareOfInformation: z.number(),
    without: z
      .strictObject({
        coefficients: z.array(
          z.strictObject({
            term: z.string(),
            estimate: z.number(),
            change: z.number().nullable().meta({ description: 'Change in standard errors of the full answer.' }),
          }),
        ),
        distance: z.number().nullable().meta({ description: "Cook's distance of the whole lab." }),
      })
      .nullable()
      .meta({ description: 'The least-squares slopes without this lab; null when the others cannot give them.' }),
  })
  .meta({ id: 'LabSlopes' });

const methodRow = z.strictObject({
  method: z.enum(['REML', 'DL', 'PM']),
  tau2: z.number(),
  estimate: z.number(),
  standardError: z.number(),
  inconsistency: z.number(),
});

export const synthesisSchema = z
  .strictObject({
    term: z.string(),
    unit: z.string(),
    labs: z.int(),
    estimate: z.number(),
    standardError: z.number().meta({ description: 'Hartung-Knapp.' }),
    degreesOfFreedom: z.number(),
    interval: intervalSchema.nullable().meta({ description: 'Null with two labs: see both.' }),
    pValue: z.number().nullable(),
    modifiedInterval: intervalSchema
      .nullable()
      .meta({ description: 'Hartung-Knapp never narrower than if tau2 were known.' }),
    tau: z.number().meta({ description: 'Standard deviation of the true slopes between labs (REML), in the unit.' }),
    tauInterval: intervalSchema.meta({ description: 'Q profile.' }),
    heterogeneity: z.strictObject({ q: z.number(), degreesOfFreedom: z.number(), pValue: z.number() }),
    inconsistency: z.number().meta({ description: 'I squared, a share: tau2 / (tau2 + typical variance).' }),
    excess: z.number().meta({ description: 'H squared.' }),
    prediction: intervalSchema.nullable().meta({
      description: 'Slope of a further lab, approximate: t with labs - 2 degrees of freedom; null with two labs.',
    }),
    methods: z
      .array(methodRow)
      .meta({ description: 'The same with other estimates of tau2 and plain standard errors.' }),
    without: z.array(
      z.strictObject({ lab: z.string(), estimate: z.number(), tau2: z.number(), inconsistency: z.number() }),
    ),
    sentence: z.string(),
  })
  .meta({ id: 'Synthesis' });

const correctedSchema = z
  .strictObject({
    worstReliability: z
      .number()
      .meta({ description: 'Reliability of the combination of predictors that is measured worst.' }),
    terms: z.array(
      z.strictObject({
        term: z.string(),
        unit: z.string(),
        naive: z.number(),
        reliability: z.number(),
        corrected: z.strictObject({ ...inference, sentence: z.string() }).nullable(),
      }),
    ),
  })
  .meta({ id: 'MeasurementErrorCorrection' });

const varianceSchema = z.strictObject({
  component: z.enum(['residual', 'session', 'lab']),
  unit: z.string(),
  standardDeviation: z.number(),
  interval: z.strictObject({ lower: z.number(), upper: z.number().nullable() }),
});

const curveResultSchema = z
  .strictObject({
    variable: variableSchema,
    unit: z.string(),
    responseUnit: z.string(),
    held: z.array(z.strictObject({ variable: variableSchema, value: z.number() })),
    meaning: z.string(),
    points: z.array(z.strictObject({ at: z.number(), estimate: z.number(), lower: z.number(), upper: z.number() })),
    labLines: z.array(
      z.strictObject({ lab: z.string(), points: z.array(z.strictObject({ at: z.number(), estimate: z.number() })) }),
    ),
    bins: z.array(
      z.strictObject({
        from: z.number(),
        to: z.number(),
        shots: z.int(),
        mean: z.number().meta({ description: 'Mean of the variable in the bin.' }),
        response: z.number().meta({ description: 'Mean response as measured.' }),
        adjusted: z.number().meta({
          description: 'Mean response with lab levels taken out and the other variables brought to the held values.',
        }),
        spread: z.number().meta({ description: 'Root mean square of what the model leaves over in the bin.' }),
      }),
    ),
  })
  .meta({ id: 'Curve' });

const forestSchema = z.strictObject({
  term: z.string(),
  unit: z.string(),
  rows: z.array(
    z.strictObject({
      kind: z.enum(['lab', 'pooled', 'synthesis', 'prediction']),
      label: z.string(),
      estimate: z.number().nullable(),
      lower: z.number().nullable(),
      upper: z.number().nullable(),
      weight: z.number().nullable(),
      shots: z.int().nullable(),
    }),
  ),
});

export const regressionResultSchema = z
  .strictObject({
    kind: z.literal('regression'),
    specification: regressionSpecificationSchema,
    estimator: z.string().meta({ description: 'How the coefficients were estimated, in words.' }),
    coefficients: z.array(coefficientSchema),
    labs: z.array(labSlopesSchema),
    synthesis: z
      .array(synthesisSchema)
      .meta({ description: "The mean of the labs' own slopes beside; empty when fewer than two labs give slopes." }),
    measurementError: correctedSchema
      .nullable()
      .meta({ description: 'Null unless labs are fixed or ignored and every term is one variable.' }),
    varianceComponents: z
      .strictObject({ criterion: z.number(), converged: z.boolean(), components: z.array(varianceSchema) })
      .nullable()
      .meta({ description: 'For randomIntercept and sessionsInLabs.' }),
    residualStandardDeviation: z.number(),
    determination: z.number().meta({
      description:
        'R squared; within labs when labs are fixed or synthesised, about zero through the origin, of the fixed part with random intercepts.',
    }),
    degreesOfFreedom: z.number(),
    ranges: z.array(z.strictObject({ variable: variableSchema, min: z.number(), max: z.number(), mean: z.number() })),
    curve: curveResultSchema.nullable().meta({ description: 'Null when the question has no terms.' }),
    forest: z.array(forestSchema),
    warnings: z.array(warningSchema),
    provenance: provenanceSchema,
  })
  .meta({ id: 'RegressionResult' });
export type RegressionResult = z.output<typeof regressionResultSchema>;
