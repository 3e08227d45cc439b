/** Contact time against cue speed, cue acceleration and draw, from what the service serves. */
import type { Warning } from '../../../shared/analysis.ts';
import type { RegressionResult } from '../../../shared/regression.ts';
import type { ListedShot } from '../api.ts';
import { about, grouped, mean, signed, standardDeviation } from './numbers.ts';
import { heading, table, wrapped } from './plain-text.ts';

const speedRanges = [
  [1, 2],
  [2, 2.8],
  [2.8, 3.6],
  [3.6, 4.8],
  [4.8, 6],
] as const;

/** Mean contact time by cue speed, lab by lab, from the derived values of the shots served. */
export function reportContactBySpeed(shots: readonly ListedShot[], labs: readonly string[]): string[] {
  const timesIn = (low: number, high: number, lab: string | null) =>
    shots
      .filter((shot) => lab === null || shot.lab === lab)
      .flatMap(({ derived }) => {
        const { source, cueSpeed, contactTime } = derived;
        if (source !== 'track' || cueSpeed === null || contactTime === null) return [];
        return cueSpeed.value >= low && cueSpeed.value < high ? [contactTime.value * 1000] : [];
      });
  const cell = (times: readonly number[]) => (times.length < 2 ? '-' : mean(times).toFixed(2));
  const rows = speedRanges.map(([low, high]) => {
    const all = timesIn(low, high, null);
    const error = all.length < 2 ? '-' : (standardDeviation(all) / Math.sqrt(all.length)).toFixed(3);
    return [
      `${low} to ${high}`,
      String(all.length),
      cell(all),
      error,
      ...labs.map((lab) => cell(timesIn(low, high, lab))),
    ];
  });
  const resolved = rows.map((row) => Number(row[2])).filter((value) => !Number.isNaN(value));
  const shortens = resolved.every((value, index) => index === 0 || value < (resolved[index - 1] ?? 0));
  return [
    ...heading('Contact time against cue speed'),
    ...wrapped('Mean contact time in ms, by cue speed in m/s, from the shots as served:'),
    '',
    ...table(['cue speed', 'shots', 'all labs', 'std. error', ...labs], rows),
    '',
    ...wrapped(
      `Contact lasts about ${mean(resolved).toFixed(1)} ms ${
        shortens ? 'and shortens from each range of speed to the next' : 'without a steady trend from range to range'
      }.`,
    ),
  ];
}

const microseconds = 1e6;

function coefficientOf(result: RegressionResult, term: string): RegressionResult['coefficients'][number] {
  const found = result.coefficients.find((coefficient) => coefficient.term === term);
  if (found === undefined) throw new Error(`the answer has no term ${term}`);
  return found;
}

/** Slope with 95 % interval in microseconds per `unit`, after multiplying by `per`. */
function slopeText(coefficient: RegressionResult['coefficients'][number], unit: string, per = 1): string {
  const scale = microseconds * per;
  const ends = [coefficient.interval.lower * scale, coefficient.interval.upper * scale].sort((a, b) => a - b);
  return `${signed(coefficient.estimate * scale, 2)} us per ${unit} (95 % interval ${signed(ends[0] ?? 0, 2)} to ${signed(
    ends[1] ?? 0,
    2,
  )})`;
}

/** Warnings of an answer, as the service words them. */
export function warningLines(warnings: readonly Warning[]): string[] {
  return warnings.flatMap(({ text }) => wrapped(text, '  ! ', '    '));
}

/** The pooled slope on cue speed. */
export function reportSpeedSlope(result: RegressionResult): string[] {
  const slope = coefficientOf(result, 'cueSpeed');
  return [
    ...wrapped(
      `Pooled over ${result.labs.length} labs and ${result.provenance.shots} shots, each lab with its own level: ${slopeText(slope, 'm/s')}.`,
    ),
    ...wrapped(slope.sentence, '  > ', '    '),
    ...warningLines(result.warnings),
  ];
}

/**
 * The pooled slope on cue acceleration, and how many shots would resolve what the stroke model says.
 *
 * @param modelSlope s per m/s2
 */
export function reportAccelerationSlope(result: RegressionResult, modelSlope: number): string[] {
  const slope = coefficientOf(result, 'cueAcceleration');
  const resolved = slope.interval.lower > 0 || slope.interval.upper < 0;
  const ratio = slope.smallestDetectable / modelSlope;
  const needed = result.provenance.shots * ratio * ratio;
  return [
    ...heading('Contact time against cue acceleration at impact'),
    ...wrapped(`At equal cue speed: ${slopeText(slope, 'm/s2')}.`),
    ...wrapped(slope.sentence, '  > ', '    '),
    ...wrapped(
      resolved
        ? 'The interval excludes zero; with the tiny effect that the stroke model has, look for a bias before believing it.'
        : 'Not resolved: the interval includes zero. That is not evidence that there is no effect.',
    ),
    ...wrapped(
      `These ${grouped(result.provenance.shots)} shots show a slope of ${(slope.smallestDetectable * microseconds).toFixed(2)} us per m/s2 with 80 % power. The stroke model behind this invented data has ${(
        modelSlope * microseconds
      ).toFixed(
        3,
      )} us per m/s2, because a hand cannot do much in a millisecond: about ${about(needed)} shots of this kind would be needed to resolve it.`,
    ),
    ...warningLines(result.warnings),
  ];
}

/** That a lower hit does not come with a longer contact. */
export function reportDraw(result: RegressionResult): string[] {
  const slope = coefficientOf(result, 'tipOffset');
  // More draw is a lower tip offset, hence the change of sign.
  const { lower, upper } = slope.interval;
  const perTenth = slopeText(slope, '0.1 R', -0.1);
  const verdict =
    lower > 0
      ? 'More draw does not come with longer contact: at equal cue speed a lower hit touches for a shorter time.'
      : upper < 0
        ? 'In these shots more draw comes with longer contact, against what the model has.'
        : 'More draw is not seen to come with longer contact: the change is not resolved either way.';
  return [
    ...heading('Contact time and draw'),
    ...wrapped(`Hits below the centre, ${result.provenance.shots} shots. For every 0.1 R lower: ${perTenth}.`),
    ...wrapped(verdict),
    ...wrapped(slope.sentence, '  > ', '    '),
    ...warningLines(result.warnings),
  ];
}
