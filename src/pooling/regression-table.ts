/** The answer of a regression as one long CSV table: a row a number that a figure or a paper would show. */
import { stringify } from 'csv-stringify/sync';
import type { RegressionResult } from '../../shared/regression.ts';

const header = [
  'section',
  'term',
  'label',
  'at',
  'estimate',
  'standard_error',
  'degrees_of_freedom',
  'lower',
  'upper',
  'p_value',
  'unit',
  'shots',
  'weight',
  'statistical_error',
  'common_error',
] as const;
type Row = Partial<Record<(typeof header)[number], string | number | null>>;

/** UTF-8 text with a header line; SI units as stated in `unit`; empty cells where a section has no such figure. */
export function regressionTable(result: RegressionResult): string {
  const rows: Row[] = [
    ...result.coefficients.map(
      (row): Row => ({
        ...inferenceOf(row),
        section: 'coefficient',
        p_value: row.pValue,
        unit: row.unit,
        shots: result.provenance.shots,
      }),
    ),
    ...result.labs.flatMap(({ lab, shots, coefficients }) =>
      (coefficients ?? []).map(
        (row): Row => ({
          ...inferenceOf(row),
          section: 'lab',
          label: lab,
          shots,
          weight: row.weight,
          unit: row.unit,
        }),
      ),
    ),
    ...result.synthesis.flatMap((row): Row[] => [
      { ...inferenceOf(row), section: 'synthesis', p_value: row.pValue, unit: row.unit, label: `${row.labs} labs` },
      ...(row.prediction === null
        ? []
        : [{ section: 'prediction', term: row.term, label: 'a further lab', ...row.prediction, unit: row.unit }]),
      { section: 'between_labs', term: row.term, label: 'tau', estimate: row.tau, ...row.tauInterval, unit: row.unit },
    ]),
    ...(result.measurementError?.terms ?? []).flatMap((row): Row[] => [
      { section: 'reliability', term: row.term, estimate: row.reliability, unit: '1' },
      ...(row.corrected === null
        ? []
        : [{ ...inferenceOf({ ...row.corrected, term: row.term }), section: 'corrected', unit: row.unit }]),
    ]),
    ...(result.varianceComponents?.components ?? []).map(
      ({ component, standardDeviation, interval, unit }): Row => ({
        section: 'variance',
        label: component,
        estimate: standardDeviation,
        ...interval,
        unit,
      }),
    ),
    ...curveRows(result.curve),
  ];
  return stringify(
    rows.map((row) => header.map((name) => row[name] ?? '')),
    { header: true, columns: [...header] },
  );
}

function inferenceOf(row: {
  readonly term: string;
  readonly estimate: number;
  readonly standardError: number;
  readonly statisticalError: number;
  readonly commonError: number;
  readonly degreesOfFreedom: number;
  readonly interval: { readonly lower: number; readonly upper: number } | null;
}): Row {
  return {
    term: row.term,
    estimate: row.estimate,
    standard_error: row.standardError,
    degrees_of_freedom: row.degreesOfFreedom,
    lower: row.interval?.lower ?? null,
    upper: row.interval?.upper ?? null,
    statistical_error: row.statisticalError,
    common_error: row.commonError,
  };
}

function curveRows(curve: RegressionResult['curve']): Row[] {
  if (curve === null) return [];
  const common = { term: curve.variable, unit: curve.responseUnit };
  return [
    ...curve.points.map((point): Row => ({ section: 'curve', ...common, ...point })),
    ...curve.labLines.flatMap(({ lab, points }) =>
      points.map((point): Row => ({ section: 'lab_line', ...common, label: lab, ...point })),
    ),
    ...curve.bins.map(
      (bin): Row => ({ section: 'bin', ...common, at: bin.mean, estimate: bin.adjusted, shots: bin.shots }),
    ),
  ];
}
