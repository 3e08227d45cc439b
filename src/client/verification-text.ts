/** A verification report as a short table for a terminal. */
import { differenceText, type VerificationOutcome, type VerificationReport } from '../releases/verification-report.ts';

const exitCodes = { verified: 0, differs: 1, unreadable: 2, unknown: 3 } as const satisfies Record<
  VerificationOutcome,
  number
>;

/** 0 verified, 1 differences, 2 not readable, 3 format or method version not known. */
export function exitCodeOf(report: VerificationReport): number {
  return exitCodes[report.outcome];
}

/** The report in lines: what was verified, one line a check, the first differences of each failed check. */
export function verificationText(report: VerificationReport): string {
  const { outcome, dataset, number, methodVersion, shots, digest, checks, obstacle } = report;
  const digestLine = digest === null ? [] : [`digest ${digest}`];
  if (outcome === 'unreadable') return [`NOT READABLE: ${obstacle}`, ...digestLine].join('\n');
  if (outcome === 'unknown') return [`NOT VERIFIED: ${obstacle}`, ...digestLine].join('\n');
  const width = Math.max(...checks.map(({ name }) => name.length));
  const lines = checks.flatMap(({ name, passed, compared, unit, differences, first }) => {
    const verdict = passed ? 'ok' : `${differences} ${differences === 1 ? 'difference' : 'differences'}`;
    const line = `${name.padEnd(width)}  ${String(compared).padStart(9)} ${unit.padEnd(12)}  ${verdict}`;
    const rest = differences - first.length;
    return [line, ...first.map((one) => `  ${differenceText(one)}`), ...(rest > 0 ? [`  and ${rest} more`] : [])];
  });
  return [
    `${dataset}@${number}: ${shots} shots, method version ${methodVersion}`,
    ...digestLine,
    ...lines,
    outcome === 'verified'
      ? 'VERIFIED: every file is as listed and every number was computed again with the same result.'
      : 'NOT VERIFIED: see the differences above.',
  ].join('\n');
}
