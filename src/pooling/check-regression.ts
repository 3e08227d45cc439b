/** Choices of a regression question that do not go together. */
import { Refusal } from '../../shared/refusal.ts';
import type { RegressionSpecification } from '../../shared/regression.ts';

/** Throws request-invalid with what to change. */
export function checkRegression(specification: RegressionSpecification): void {
  const { terms, intercept, labs, measurementError, curve, declaredRanges } = specification;
  const refuse = (detail: string) => {
    throw new Refusal('request-invalid', detail);
  };
  if (terms.length === 0 && (labs === 'fixed' || labs === 'synthesis')) {
    refuse(`without terms there is no slope to ask for: give terms, or ask for the mean with labs randomIntercept`);
  }
  if (terms.length === 0 && !intercept) refuse('neither terms nor an intercept: there is nothing to estimate');
  if (!intercept && labs !== 'ignored') {
    refuse(`a fit through the origin has no lab levels: ask it with labs ignored, or leave intercept true`);
  }
  if (measurementError === 'corrected') {
    if (labs !== 'fixed' && labs !== 'ignored') {
      refuse('the correction for measurement error is for labs fixed or ignored');
    }
    if (!intercept) refuse('the correction for measurement error needs an intercept');
    if (terms.some((term) => term.length !== 1 || term[0]?.power !== 1)) {
      refuse(
        'the correction for measurement error is for terms that are single variables, without powers and products',
      );
    }
  }
  const used = new Set(terms.flat().map(({ variable }) => variable));
  for (const { variable } of declaredRanges) {
    if (!used.has(variable)) refuse(`a range is declared for ${variable}, which no term holds`);
  }
  for (const variable of curve === null ? [] : [curve.variable, ...curve.at.map((held) => held.variable)]) {
    if (!used.has(variable)) refuse(`the curve names ${variable}, which no term holds`);
  }
}
