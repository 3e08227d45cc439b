/** What the service remarks about accepted shots: flags never reject, and are there to be read. */
import { flags } from '../../../shared/flags.ts';
import type { ListedShot } from '../api.ts';
import { heading, wrapped } from './plain-text.ts';

/** Flags by number of shots, with their meaning, and the shots that stay out of pooling. */
export function reportRemarks(shots: readonly ListedShot[]): string[] {
  const counts = new Map<string, number>();
  for (const { derived } of shots) for (const flag of derived.flags) counts.set(flag, (counts.get(flag) ?? 0) + 1);
  const ordered = [...counts].sort(([a, x], [b, y]) => y - x || (a < b ? -1 : 1));
  const reported = shots.filter(({ derived }) => derived.source === 'reported').length;
  const meanings: Readonly<Record<string, { meaning: string }>> = flags;
  return [
    ...heading('Remarks on accepted shots'),
    ...ordered.flatMap(([flag, count]) =>
      wrapped(`${flag}: ${meanings[flag]?.meaning ?? ''}`, `${String(count).padStart(5)}  `),
    ),
    '',
    ...wrapped(
      `${reported} shots came as summary values without a track: kept as "reported", and left out of everything below.`,
    ),
  ];
}
