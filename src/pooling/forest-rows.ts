/** Rows of a forest plot, one block a term: labs, the pooled slope, the synthesis and what a further lab may show. */
import type { RegressionResult } from '../../shared/regression.ts';

type Result = Pick<RegressionResult, 'specification' | 'coefficients' | 'labs' | 'synthesis'>;

export function forestRows({ specification, coefficients, labs, synthesis }: Result): RegressionResult['forest'] {
  return coefficients.flatMap((coefficient): RegressionResult['forest'] => {
    const { term, unit } = coefficient;
    if (term === 'intercept') return [];
    const mean = synthesis.find((row) => row.term === term);
    const shots = labs.reduce((sum, lab) => sum + lab.shots, 0);
    const rows: RegressionResult['forest'][number]['rows'] = labs.map((lab) => {
      const own = lab.coefficients?.find((each) => each.term === term);
      return {
        kind: 'lab',
        label: lab.lab,
        unit,
        estimate: own?.estimate ?? null,
        lower: own?.interval.lower ?? null,
        upper: own?.interval.upper ?? null,
        weight: own?.weight ?? null,
        shots: lab.shots,
      };
    });
    if (specification.labs !== 'synthesis') {
      rows.push({
        kind: 'pooled',
        label: pooledLabel(specification.labs),
        unit,
        ...estimateOf(coefficient),
        weight: null,
        shots,
      });
    }
    if (mean !== undefined) {
      rows.push({ kind: 'synthesis', label: 'mean of lab slopes', unit, ...estimateOf(mean), weight: 1, shots });
      if (mean.prediction !== null) {
        rows.push({
          kind: 'prediction',
          label: 'a further lab',
          unit,
          estimate: null,
          ...mean.prediction,
          weight: null,
          shots: null,
        });
      }
    }
    return [{ term, unit, rows }];
  });
}

function estimateOf(row: { estimate: number; interval: { lower: number; upper: number } | null }) {
  return { estimate: row.estimate, lower: row.interval?.lower ?? null, upper: row.interval?.upper ?? null };
}

function pooledLabel(labs: RegressionResult['specification']['labs']): string {
  switch (labs) {
    case 'fixed':
      return 'common slope within labs';
    case 'ignored':
      return 'labs ignored';
    case 'randomIntercept':
      return 'random lab levels';
    case 'sessionsInLabs':
      return 'random lab and session levels';
    case 'synthesis':
      return 'mean of lab slopes';
  }
}
