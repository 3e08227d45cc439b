/** Tests of several coefficients together, in words. */
import { quantities } from '../../shared/quantities.ts';
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import { groupLevels } from '../statistics/group-levels.ts';
import type { JointTest } from '../statistics/joint-test.ts';
import { rawCoefficient, rawContrast } from '../statistics/raw-coefficients.ts';
import { termName } from './canonical-specification.ts';
import { list, rounded } from './figures-in-words.ts';
import type { RegressionDesign } from './regression-design.ts';
import type { RegressionModel } from './regression-model.ts';

type Test = NonNullable<RegressionResult['jointTest']>;

/** All slopes together; null for less than two, random levels, the synthesis, or clusters that cannot carry the test. */
export function jointTest(model: RegressionModel, { terms, labs, response }: RegressionSpecification): Test | null {
  if (terms.length < 2 || labs === 'synthesis') return null;
  const contrasts = terms.map((_, row) => ({ atMeans: 0, slopes: rawContrast(model.map, row) }));
  const estimates = terms.map((_, row) => rawCoefficient(model.map, row, model.slopes));
  const found = model.joint(contrasts, estimates);
  if (found === null || !Number.isFinite(found.f)) return null;
  const names = terms.map(termName);
  return {
    terms: names,
    ...plain(found),
    sentence: `Together ${list(names)} ${found.pValue < 0.05 ? 'bear' : 'are not shown to bear'} on ${quantities[response].label} (${figures(found)}).`,
  };
}

/** Levels of the labs at equal terms; null with one lab or through the origin. */
export function labLevelTest(
  design: RegressionDesign,
  { terms, intercept, response }: RegressionSpecification,
): Test | null {
  const found = intercept ? groupLevels(design.labs) : null;
  if (found === null) return null;
  const equal = terms.length === 0 ? '' : ` at equal ${list(terms.map(termName))}`;
  return {
    terms: terms.map(termName),
    ...plain(found),
    sentence: `Labs ${found.pValue < 0.05 ? 'differ' : 'are not shown to differ'} in the level of ${quantities[response].label}${equal} beyond the scatter of their shots (${figures(found)}).`,
  };
}

function plain({ f, numeratorDegrees, denominatorDegrees, pValue }: JointTest) {
  return { f, numeratorDegrees, denominatorDegrees, pValue };
}

function figures({ f, numeratorDegrees, denominatorDegrees, pValue }: JointTest): string {
  const p = pValue < 1e-4 ? 'p below 0.0001' : `p = ${rounded(pValue, 2)}`;
  return `F = ${rounded(f, 3)} on ${numeratorDegrees} and ${rounded(denominatorDegrees, 3)} degrees of freedom, ${p}`;
}
