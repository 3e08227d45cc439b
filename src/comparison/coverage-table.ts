/** The coverage map as a CSV table, one row a cell. */
import { stringify } from 'csv-stringify/sync';
import type { Coverage } from '../../shared/coverage.ts';

/** UTF-8 text with a header line; units in the header. */
export function coverageTable({ cells }: Coverage): string {
  return stringify(
    cells.map(({ lab, tipOffset, cueSpeed, first, second, pairs, firstWanted, secondWanted }) => [
      lab,
      tipOffset.from,
      tipOffset.to,
      cueSpeed.from,
      cueSpeed.to,
      first,
      second,
      pairs,
      firstWanted,
      secondWanted,
    ]),
    {
      header: true,
      columns: [
        'lab',
        'tip_offset_from[1]',
        'tip_offset_to[1]',
        'cue_speed_from[m/s]',
        'cue_speed_to[m/s]',
        'first',
        'second',
        'pairs',
        'first_wanted',
        'second_wanted',
      ],
    },
  );
}
