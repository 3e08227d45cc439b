/** The overlay as one long CSV table: a row a point of a series of a shot. SI. */
import { stringify } from 'csv-stringify/sync';
import type { Overlay } from '../../shared/overlay.ts';
import { safeCell } from '../intake/safe-cell.ts';

const header = ['lab', 'label', 'series', 'time[s]', 'position[m]', 'speed[m/s]', 'acceleration[m/s2]'];

/** UTF-8 text with a header line; times from first contact (cue, cue_fit) or from the ball-ball impact (ball). */
export function overlayTable({ shots }: Overlay): string {
  const rows = shots.flatMap(({ lab, label, cue, cueFit, ball }) => [
    ...cue.map(({ time, position }) => [lab, safeCell(label), 'cue', time, position, null, null]),
    ...cueFit.map(({ time, speed, acceleration }) => [
      lab,
      safeCell(label),
      'cue_fit',
      time,
      null,
      speed,
      acceleration,
    ]),
    ...ball.map(({ time, position }) => [lab, safeCell(label), 'ball', time, position, null, null]),
  ]);
  return stringify(rows, { header: true, columns: header });
}
