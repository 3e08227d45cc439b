/** Pooled regression: the answer, and with it the question (regression-specification.ts). */
import { z } from 'zod';
import { intervalSchema, provenanceSchema, variableSchema, warningSchema } from './analysis.ts';
import { regressionSpecificationSchema } from './regression-specification.ts';

export { type RegressionSpecification, regressionSpecificationSchema, termSchema } from './regression-specification.ts';

const unit = z.string().meta({ description: 'UCUM, of every number beside it that has one.' });
const sentence = z.string().meta({ description: 'What the numbers beside it say, in words.' });
const errors = {
  standardError: z
    .number()
    .meta({ description: 'Total, in the unit: root of the sum of the squares of the two parts.' }),
  statisticalError: z.number().meta({ description: 'The part that falls with more shots and labs, in the unit.' }),
  commonError: z.number().meta({
    description:
      'The part, in the unit, that shots of one rig, cue or table have in common (scale, clock, parallax, tip): it does not fall with more shots of these.',
  }),
  degreesOfFreedom: z.number().meta({ description: 'Of the t distribution behind interval and p-value.' }),
};
const inference = {
  estimate: z.number().meta({ description: 'In the unit beside it.' }),
  ...errors,
  interval: intervalSchema.meta({ description: 'Of the total, at the confidence asked for.' }),
};

export const coefficientSchema = z
  .strictObject({
    term: z
      .string()
      .meta({ description: 'Such as cueSpeed, cueSpeed^2 or cueSpeed*tipOffset; intercept when there is one.' }),
    unit,
    ...inference,
    pValue: z.number().meta({ description: 'Two-sided p, of a coefficient of 0.' }),
    holmPValue: z
      .number()
      .nullable()
      .meta({ description: 'p adjusted for the slopes of this question together (Holm); null for a single one.' }),
    smallestDetectable: z
      .number()
      .meta({ description: 'Slope that this much data shows with 80 % power at the stated confidence.' }),
    varianceInflation: z.number().nullable().meta({
      description: '1 / (1 - R2) of the term on the others, within labs when labs are fixed; null for the intercept.',
    }),
    sentence: z.string().meta({ description: 'What the coefficient says, in words, with unit and interval.' }),
  })
  .meta({ id: 'Coefficient' });

const testSchema = z.strictObject({
  terms: z.array(z.string()),
  f: z.number().meta({ description: 'F statistic, a pure number.' }),
  numeratorDegrees: z.number().meta({ description: 'Degrees of freedom.' }),
  denominatorDegrees: z.number().meta({ description: 'Degrees of freedom.' }),
  pValue: z.number().meta({ description: 'p of all coefficients being 0.' }),
  sentence,
});

export const labSlopesSchema = z
  .strictObject({
    lab: z.string(),
    shots: z.int().meta({ description: 'Count.' }),
    coefficients: z
      .array(
        z.strictObject({
          term: z.string(),
          unit,
          ...inference,
          sentence,
          weight: z
            .number()
            .nullable()
            .meta({ description: 'Weight of the lab in the synthesis of this term; null when there is none.' }),
        }),
      )
      .nullable()
      .meta({ description: 'Null when this lab alone cannot give the slopes.' }),
    shareOfInformation: z.number().meta({ description: 'Share of 1 of what the shots say about the slopes.' }),
    without: z
      .strictObject({
        coefficients: z.array(
          z.strictObject({
            term: z.string(),
            unit,
            estimate: z.number().meta({ description: 'Slope without this lab, in the unit beside it.' }),
            change: z.number().nullable().meta({ description: 'Change in standard errors of the full answer.' }),
          }),
        ),
        sentence,
        distance: z.number().nullable().meta({ description: "Cook's distance of the whole lab." }),
      })
      .nullable()
      .meta({ description: 'The least-squares slopes without this lab; null when the others cannot give them.' }),
  })
  .meta({ id: 'LabSlopes' });

const methodRow = z.strictObject({
  method: z.enum(['REML', 'DL', 'PM', 'ML']),
  unit,
  tau2: z.number().meta({ description: 'Variance between labs, in the unit squared.' }),
  estimate: z.number().meta({ description: 'In the unit beside it.' }),
  standardError: z.number().meta({ description: 'Plain, in the unit: as if tau2 were known.' }),
  interval: intervalSchema.meta({ description: 'Normal, as if tau2 were known.' }),
  inconsistency: z.number().meta({ description: 'I squared, a share.' }),
});

export const synthesisSchema = z
  .strictObject({
    term: z.string(),
    unit,
    labs: z.int().meta({ description: 'Count of labs that give a slope.' }),
    estimate: z.number().meta({ description: 'Mean of the lab slopes, in the unit beside it.' }),
    ...errors,
    interval: intervalSchema.nullable().meta({ description: 'Null with two labs: see both.' }),
    pValue: z.number().nullable().meta({ description: 'Two-sided p, of a mean of 0.' }),
    modifiedInterval: intervalSchema
      .nullable()
      .meta({ description: 'Hartung-Knapp never narrower than if tau2 were known.' }),
    tau: z.number().meta({ description: 'Standard deviation of the true slopes between labs (REML), in the unit.' }),
    tauInterval: intervalSchema.meta({
      description: 'Q profile; 0 to 0 where the slopes agree so closely that it gives none.',
    }),
    heterogeneity: z
      .strictObject({
        q: z.number().meta({ description: "Cochran's Q." }),
        degreesOfFreedom: z.number().meta({ description: 'Degrees of freedom: labs less one.' }),
        pValue: z.number().meta({ description: 'p of lab slopes that differ by their own errors only.' }),
      })
      .meta({ description: 'Do the labs agree?' }),
    inconsistency: z.number().meta({ description: 'I squared, a share: tau2 / (tau2 + typical variance).' }),
    excess: z.number().meta({ description: 'H squared.' }),
    prediction: intervalSchema.nullable().meta({
      description: 'Slope of a further lab, approximate: t with labs - 2 degrees of freedom; null with two labs.',
    }),
    methods: z
      .array(methodRow)
      .meta({ description: 'The same with other estimates of tau2 and plain standard errors.' }),
    without: z.array(
      z.strictObject({
        lab: z.string(),
        unit,
        estimate: z.number().meta({ description: 'Mean without this lab, in the unit.' }),
        interval: intervalSchema.nullable().meta({ description: 'Null when two labs are left.' }),
        tau2: z.number().meta({ description: 'In the unit squared.' }),
        inconsistency: z.number().meta({ description: 'I squared, a share.' }),
      }),
    ),
    sentence,
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
        unit,
        naive: z.number().meta({ description: 'Slope as it stands among the coefficients, in the unit beside it.' }),
        reliability: z.number().meta({
          description: 'Share of the spread of the term, as the model uses it, that is no measurement error.',
        }),
        sentence,
        corrected: z.strictObject({ ...inference, sentence }).nullable(),
      }),
    ),
    york: z
      .strictObject({
        unit,
        ...inference,
        intercept: z.number().meta({ description: 'In the unit of the response.' }),
        interceptUnit: unit,
        interceptError: z.number().meta({ description: 'Standard error, in the unit of the response.' }),
        reducedChiSquare: z.number().meta({
          description:
            'Weighted residuals over their degrees of freedom; about 1 when the stated errors are all there is.',
        }),
        sentence,
      })
      .nullable()
      .meta({
        description:
          'Line through shots that err in both variables (York 2004): for labs ignored, one term, correction asked for.',
      }),
  })
  .meta({ id: 'MeasurementErrorCorrection' });

const influentialShot = z.strictObject({
  lab: z.string(),
  label: z.string(),
  leverage: z
    .number()
    .meta({ description: 'Between 0 and 1, pure number; 1: the shot alone determines a coefficient.' }),
  residual: z.number().nullable().meta({
    description:
      'Externally studentised residual, a pure number; null where the fit has nothing left without the shot.',
  }),
  distance: z.number().nullable().meta({ description: "Cook's distance, a pure number; null for a leverage of 1." }),
  sentence,
});
const influenceSchema = z
  .strictObject({
    byDistance: z.array(influentialShot).meta({ description: 'At most 20, leverages of 1 first.' }),
    byResidual: z.array(influentialShot).meta({ description: 'At most 20.' }),
    meaning: z.string(),
  })
  .meta({ id: 'InfluentialShots', description: 'Shots to look at again; none is left out by itself.' });

const varianceSchema = z.strictObject({
  component: z.enum(['residual', 'session', 'lab']),
  unit,
  standardDeviation: z.number().meta({ description: 'In the unit beside it.' }),
  interval: z.strictObject({
    lower: z.number().meta({ description: 'In the unit of the standard deviation.' }),
    upper: z
      .number()
      .nullable()
      .meta({ description: 'In the unit of the standard deviation; null where the data set no limit.' }),
  }),
  sentence,
});

const curveResultSchema = z
  .strictObject({
    variable: variableSchema,
    unit: unit.meta({ description: 'Of at, from, to and mean.' }),
    responseUnit: unit.meta({ description: 'Of estimate, lower, upper, response, adjusted and spread.' }),
    held: z.array(
      z.strictObject({
        variable: variableSchema,
        unit,
        value: z.number().meta({ description: 'Value at which the variable is held.' }),
      }),
    ),
    meaning: z.string(),
    points: z.array(
      z.strictObject({
        at: z.number().meta({ description: 'Value of the variable.' }),
        estimate: z.number().meta({ description: 'Fitted response, in responseUnit (SI).' }),
        lower: z.number().meta({ description: 'Lower end of the interval, in the unit of the estimate.' }),
        upper: z.number().meta({ description: 'Upper end of the interval, in the unit of the estimate.' }),
      }),
    ),
    labLines: z.array(
      z.strictObject({
        lab: z.string(),
        points: z.array(
          z.strictObject({
            at: z.number().meta({ description: 'Value of the variable.' }),
            estimate: z
              .number()
              .meta({ description: 'Fitted response of this lab alone, in responseUnit (SI); for drawing.' }),
          }),
        ),
      }),
    ),
    bins: z.array(
      z.strictObject({
        from: z.number().meta({ description: 'Lower edge, in the unit of the variable.' }),
        to: z.number().meta({ description: 'Upper edge, in the unit of the variable.' }),
        shots: z.int().meta({ description: 'Count.' }),
        mean: z.number().meta({ description: 'Mean of the variable in the bin.' }),
        response: z.number().meta({ description: 'Mean response as measured.' }),
        adjusted: z.number().meta({
          description:
            'The curve at the mean of the bin plus the mean of what the model leaves over: the response with lab levels taken out and the other variables brought to the held values.',
        }),
        spread: z.number().meta({ description: 'Root mean square of what the model leaves over in the bin.' }),
      }),
    ),
  })
  .meta({ id: 'Curve' });

const forestSchema = z.strictObject({
  term: z.string(),
  unit,
  rows: z.array(
    z.strictObject({
      kind: z.enum(['lab', 'pooled', 'synthesis', 'prediction']),
      label: z.string(),
      unit,
      estimate: z
        .number()
        .nullable()
        .meta({ description: 'In the unit; null for a further lab, and a lab without a slope.' }),
      lower: z.number().nullable().meta({ description: 'Lower end of the interval, in the unit of the estimate.' }),
      upper: z.number().nullable().meta({ description: 'Upper end of the interval, in the unit of the estimate.' }),
      weight: z.number().nullable().meta({ description: 'Share of 1 in the mean of lab slopes.' }),
      shots: z.int().nullable().meta({ description: 'Count.' }),
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
      .strictObject({
        criterion: z.number().meta({ description: '-2 log restricted likelihood, a pure number, to compare fits.' }),
        converged: z.boolean(),
        components: z.array(varianceSchema),
      })
      .nullable()
      .meta({ description: 'For randomIntercept and sessionsInLabs.' }),
    jointTest: testSchema.nullable().meta({
      description:
        'Do the terms together say anything? For labs fixed or ignored with two terms or more: F test, cluster-robust by an approximate Hotelling T squared.',
    }),
    labLevels: testSchema.nullable().meta({
      description:
        'Do labs differ in level beyond their scatter, at equal terms? F test of one intercept a lab against one for all.',
    }),
    influence: influenceSchema.nullable().meta({ description: 'Null unless asked for, and with random levels.' }),
    responseUnit: unit.meta({ description: 'Of residualStandardDeviation and unexplained.' }),
    unexplained: z
      .strictObject({
        unit,
        stated: z
          .number()
          .meta({ description: 'Root mean square of the stated own uncertainty of the response, in the unit.' }),
        standardDeviation: z.number().nullable().meta({
          description:
            'What the terms and the stated uncertainty leave over, in the unit; null when the latter is too large.',
        }),
        sentence,
      })
      .nullable()
      .meta({ description: 'Null where the response carries no stated uncertainty.' }),
    residualStandardDeviation: z.number().meta({ description: 'Of one shot about the fit, in responseUnit (SI).' }),
    fit: z.string().meta({ description: 'Quality of the fit, in words.' }),
    determination: z.number().meta({
      description:
        'R squared; within labs when labs are fixed or synthesised, about zero through the origin, of the fixed part with random intercepts.',
    }),
    degreesOfFreedom: z.number().meta({ description: 'Degrees of freedom: shots less coefficients and lab levels.' }),
    ranges: z.array(
      z.strictObject({
        variable: variableSchema,
        unit,
        min: z.number().meta({ description: 'Smallest value among the shots.' }),
        max: z.number().meta({ description: 'Largest value among the shots.' }),
        mean: z.number().meta({ description: 'Mean of the shots, in the unit.' }),
        basis: z
          .strictObject({
            min: z.number().meta({ description: 'Lower end, in the unit.' }),
            max: z.number().meta({ description: 'Upper end, in the unit.' }),
            declared: z.boolean().meta({ description: 'false: taken from the shots.' }),
          })
          .nullable()
          .meta({ description: 'Range on which the terms are built, in the unit; null for the response.' }),
      }),
    ),
    curve: curveResultSchema.nullable().meta({ description: 'Null when the question has no terms.' }),
    forest: z.array(forestSchema),
    warnings: z.array(warningSchema),
    provenance: provenanceSchema,
  })
  .meta({ id: 'RegressionResult' });
export type RegressionResult = z.output<typeof regressionResultSchema>;
