/** Pooled regression: the question and the answer. */
import { z } from 'zod';
import { commonSpecification, intervalSchema, provenanceSchema, variableSchema, warningSchema } from './analysis.ts';

const factorSchema = z.strictObject({ variable: variableSchema, power: z.int().min(1).max(5).default(1) });
export const termSchema = z
  .array(factorSchema)
  .min(1)
  .max(3)
  .meta({ description: 'A term is a product of powers of variables; most terms are one variable.' });

export const regressionSpecificationSchema = z
  .strictObject({
    response: variableSchema,
    terms: z.array(termSchema).min(1).max(8),
    labs: z.enum(['fixed', 'ignored']).default('fixed').meta({
      description:
        'fixed: one intercept a lab, so that only differences within a lab count. ignored: one intercept for all, as a diagnostic only.',
    }),
    standardErrors: z
      .enum(['clusterRobust', 'classical'])
      .default('clusterRobust')
      .meta({ description: 'clusterRobust: CR2 by lab with Satterthwaite degrees of freedom.' }),
    ...commonSpecification,
  })
  .meta({ id: 'RegressionSpecification' });
export type RegressionSpecification = z.output<typeof regressionSpecificationSchema>;

export const coefficientSchema = z
  .strictObject({
    term: z
      .string()
      .meta({ description: 'Such as cueSpeed, cueSpeed^2 or cueSpeed*tipOffset; intercept when there is one.' }),
    unit: z.string(),
    estimate: z.number(),
    standardError: z.number(),
    degreesOfFreedom: z.number(),
    interval: intervalSchema,
    pValue: z.number(),
    smallestDetectable: z
      .number()
      .meta({ description: 'Slope that this much data shows with 80 % power at the stated confidence.' }),
    sentence: z.string().meta({ description: 'What the coefficient says, in words, with unit and interval.' }),
  })
  .meta({ id: 'Coefficient' });

export const labSlopesSchema = z.strictObject({
  lab: z.string(),
  shots: z.int(),
  coefficients: z
    .array(z.strictObject({ term: z.string(), estimate: z.number(), standardError: z.number() }))
    .nullable()
    .meta({ description: 'Null when this lab alone cannot give the slopes.' }),
  shareOfInformation: z.number(),
});

export const regressionResultSchema = z
  .strictObject({
    kind: z.literal('regression'),
    specification: regressionSpecificationSchema,
    coefficients: z.array(coefficientSchema),
    labs: z.array(labSlopesSchema),
    residualStandardDeviation: z.number(),
    determination: z.number().meta({ description: 'R squared; within labs when labs are fixed.' }),
    degreesOfFreedom: z.number(),
    ranges: z.array(z.strictObject({ variable: variableSchema, min: z.number(), max: z.number(), mean: z.number() })),
    warnings: z.array(warningSchema),
    provenance: provenanceSchema,
  })
  .meta({ id: 'RegressionResult' });
export type RegressionResult = z.output<typeof regressionResultSchema>;
