/** The part of the GraphQL schema that is written from the schemas of REST: answers, and the questions that ask for them. */
import { comparisonResultSchema, comparisonSpecificationSchema, marginSchema } from '../../shared/comparison.ts';
import { explainedDerivationSchema } from '../../shared/explanation.ts';
import { fieldUnits, fieldWords } from '../../shared/field-words.ts';
import { flagNames } from '../../shared/flags.ts';
import { groupingNames, variableNames } from '../../shared/quantities.ts';
import { regressionResultSchema, regressionSpecificationSchema } from '../../shared/regression.ts';
import { releaseSchema } from '../../shared/release.ts';
import { shotOrderSchema, shotSearchSchema } from '../../shared/shot-search.ts';
import { enumerationKey, sdlOfSchemas } from './sdl-of-schemas.ts';

/** Text of shared/graphql/answers.graphql, and the fields that have no description. */
export function answersSdl(): { readonly sdl: string; readonly undescribed: readonly string[] } {
  return sdlOfSchemas({
    outputs: [regressionResultSchema, comparisonResultSchema, explainedDerivationSchema, marginSchema, releaseSchema],
    inputs: [regressionSpecificationSchema, comparisonSpecificationSchema, shotSearchSchema, shotOrderSchema],
    enumNames: {
      [enumerationKey(variableNames)]: 'Variable',
      [enumerationKey(groupingNames)]: 'Grouping',
      [enumerationKey(flagNames)]: 'Flag',
    },
    words: fieldWords,
    units: fieldUnits,
    scalars: {
      'Contrast.first': 'Json',
      'Contrast.second': 'Json',
      'PairedShot.contrast': 'NumberOrText',
      'UnmatchedShotsShots.contrast': 'NumberOrText',
      'ComparisonSpecificationMatch.caliper': 'Json',
      'ComparisonSpecificationInputMatch.caliper': 'Json',
      'DerivedShot.reasons': 'Json',
      'ExplainedNumber.value': 'NumberOrText',
      'RegressionSpecification.source': 'Source',
      'RegressionSpecification.scope': 'String',
      'ComparisonSpecification.source': 'Source',
      'ComparisonSpecification.scope': 'String',
    },
  });
}
