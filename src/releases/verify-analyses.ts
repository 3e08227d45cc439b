/** Do the shots meet the rule of the release, and do the recorded answers follow from the shots? */
import type { Manifest } from '../../shared/release.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { selectShots } from '../pooling/select-shots.ts';
import type { ReleaseIdentity } from './frozen-shot.ts';
import { analysesFileName, analysesFileSchema, recomputeAnalysis } from './recorded-analyses.ts';
import { shotsTable } from './shots-table.ts';
import type { NamedBytes } from './stored-zip.ts';
import { CheckRecorder, fileDifference, type VerificationCheck } from './verification-report.ts';
import { messageOf } from './verify-tables.ts';

/** Every shot of the release meets its rule. */
export function checkRule(columns: ShotColumns, manifest: Manifest): VerificationCheck {
  const recorder = new CheckRecorder('rule', 'shots');
  recorder.count(columns.count);
  const meeting = new Set(selectShots(columns, manifest.rule, []).indices);
  const { codes, names } = columns.groups.lab;
  for (let row = 0; row < columns.count; row += 1) {
    if (meeting.has(row)) continue;
    recorder.differ({
      file: shotsTable.file,
      lab: names[codes[row] ?? -1] ?? null,
      label: columns.labels[row] ?? null,
      column: null,
      expected: 'a shot that meets the rule of the release',
      found: 'one that does not',
    });
  }
  return recorder.finish();
}

/** Every recorded answer, recomputed from the shots and compared value by value. */
export function checkAnalyses(
  files: readonly NamedBytes[],
  columns: ShotColumns,
  identity: ReleaseIdentity,
): VerificationCheck {
  const recorder = new CheckRecorder('analyses', 'answers');
  const bytes = files.find(({ name }) => name === analysesFileName)?.bytes;
  if (bytes === undefined) {
    recorder.differ(fileDifference(analysesFileName, 'a file', 'no such file'));
    return recorder.finish();
  }
  try {
    const written: unknown = JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(bytes));
    const recorded = analysesFileSchema.parse(written);
    const analyses = recorded.analyses.map((each) => {
      recorder.count();
      return { ...each, result: recomputeAnalysis(columns, each, recorded.margins, identity) };
    });
    const again: unknown = JSON.parse(JSON.stringify({ ...recorded, analyses }));
    for (const { pointer, expected, found } of differences(again, written, '')) {
      recorder.differ({ file: analysesFileName, lab: null, label: null, column: pointer, expected, found });
    }
  } catch (error) {
    recorder.differ(fileDifference(analysesFileName, 'answers that can be recomputed', messageOf(error)));
  }
  return recorder.finish();
}

interface PointedDifference {
  readonly pointer: string;
  readonly expected: string;
  readonly found: string;
}

/** Places at which two JSON values differ, as JSON pointers (RFC 6901), in the order of the expected value. */
export function differences(expected: unknown, found: unknown, pointer: string): PointedDifference[] {
  const bothObjects =
    typeof expected === 'object' &&
    typeof found === 'object' &&
    expected !== null &&
    found !== null &&
    Array.isArray(expected) === Array.isArray(found);
  if (!bothObjects) {
    return Object.is(expected, found) ? [] : [{ pointer, expected: jsonText(expected), found: jsonText(found) }];
  }
  const first = new Map(Object.entries(expected));
  const second = new Map(Object.entries(found));
  const keys = [...first.keys(), ...[...second.keys()].filter((key) => !first.has(key))];
  return keys.flatMap((key) => {
    const inner = `${pointer}/${key.replaceAll('~', '~0').replaceAll('/', '~1')}`;
    return differences(first.get(key), second.get(key), inner);
  });
}

function jsonText(value: unknown): string {
  return value === undefined ? 'nothing' : JSON.stringify(value);
}
