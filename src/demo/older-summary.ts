/** A table of older shots of which only summary values were kept: sent as CSV, stored as reported. */
import { written } from './height-reading.ts';
import { integrateImpact } from './impact.ts';
import type { DemoLab } from './lab-model.ts';
import { randomStream } from './random.ts';

const header = [
  'label',
  'rig',
  'cue',
  'table',
  'session_date',
  'object_ball_distance[cm]',
  'reported_cue_speed[km/h]',
  'reported_contact_time[ms]',
  'reported_tip_offset[1]',
  'note',
];

/** CSV of `count` older shots of a lab. */
export function olderSummaryCsv(seed: number, lab: DemoLab, count: number): string {
  const random = randomStream(seed, `${lab.registration.slug}/older`);
  const rows = Array.from({ length: count }, (_, index) => {
    const cueSpeed = random.between(1.5, 5);
    const tipOffset = random.between(-0.4, 0.3);
    const { contactTime } = integrateImpact({ ...lab.play, cueSpeed, cueAcceleration: 0, tipOffset });
    return [
      `old-${String(index + 1).padStart(2, '0')}`,
      lab.rig.name,
      lab.cue.name,
      lab.table.name,
      '2019-06-14',
      String(written(random.between(45, 55), 1)),
      String(written(cueSpeed * 3.6, 0.1)),
      String(written(1000 * contactTime + random.normal(0, 0.1), 0.1)),
      String(written(tipOffset, 0.05)),
      '"from the log book, film not kept"',
    ].join(',');
  });
  return `${[header.join(','), ...rows].join('\n')}\n`;
}
