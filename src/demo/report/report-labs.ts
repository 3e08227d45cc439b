/** Who the labs are and what they film with. */
import type { DemoLab } from '../lab-model.ts';
import { heading, table, wrapped } from './plain-text.ts';

const tipHeights = {
  shaftTopEdge: 'top edge of the shaft',
  shaftEdges: 'both edges of the shaft',
  contactMark: 'chalk mark on the ball',
  ring: 'ring on the ball',
} as const;

const text = (measure: { value: number; unit: string } | string | undefined): string =>
  measure === undefined ? 'not given' : typeof measure === 'string' ? measure : `${measure.value} ${measure.unit}`;

/** Two tables: film, then gear. */
export function reportLabs(labs: readonly DemoLab[]): string[] {
  return [
    ...heading('Labs'),
    ...wrapped(
      'All four are invented. Each films in its own way and sends what it has, in its own units. Trims are the frames left out at each end of the contact.',
    ),
    '',
    ...table(
      ['lab', 'capture', 'playback', 'track in', 'trims mean', 'tip height from'],
      labs.map(({ registration, rig, film, height }) => [
        registration.slug,
        text(rig.content.captureRate),
        text(rig.content.playbackRate),
        film.trackUnit.unit,
        film.trimMeaning,
        `${tipHeights[height.method]}, from the ${height.reference === 'cloth' ? 'cloth' : 'centre'}`,
      ]),
    ),
    '',
    ...table(
      ['lab', 'cue', 'mass', 'tip', 'dome radius', 'table', 'balls'],
      labs.map(({ registration, cue, table: where }) => [
        registration.slug,
        cue.name,
        text(cue.content.mass),
        cue.content.tipMaterial ?? 'not given',
        text(cue.content.tipRadius),
        where.content.discipline,
        text(where.content.ballDiameter),
      ]),
    ),
  ];
}
