/** A low hit needs speed: with too little of it for the distance, the backspin is gone and the ball follows. */
import type { ListedShot } from '../api.ts';
import { signed } from './numbers.ts';
import { heading, table, wrapped } from './plain-text.ts';

const groups = [
  { name: 'below 1.7 m/s over 1.1 m', slowest: 0, fastest: 1.7, nearest: 1 },
  { name: 'above 2.8 m/s over 0.5 m', slowest: 2.8, fastest: 20, nearest: 0 },
] as const;

/** Outcomes of low hits (tip offset below -0.25 R) from the shots as served, bounds included. */
export function reportLowHits(shots: readonly ListedShot[]): string[] {
  const counted = groups.map(({ name, slowest, fastest, nearest }) => {
    const outcomes = shots.flatMap(({ derived }) => {
      const { cueSpeed, tipOffset, objectBallDistance: distance, outcomeDistance, outcomeBound } = derived;
      const outcome = outcomeDistance?.value ?? outcomeBound;
      if (cueSpeed === null || tipOffset === null || distance === null || outcome === null) return [];
      const inside = cueSpeed.value >= slowest && cueSpeed.value < fastest && tipOffset.value < -0.25;
      return inside && distance >= nearest ? [outcome] : [];
    });
    return {
      name,
      outcomes,
      followed: outcomes.filter((outcome) => outcome > 0).length,
      drew: outcomes.filter((outcome) => outcome < 0).length,
    };
  });
  const rows = counted.map(({ name, outcomes, followed, drew }) => [
    name,
    String(outcomes.length),
    String(followed),
    String(drew),
    outcomes.length === 0 ? '-' : `${signed(Math.min(...outcomes), 2)} to ${signed(Math.max(...outcomes), 2)} m`,
  ]);
  const [slow] = counted;
  return [
    ...heading('Low hits and speed'),
    ...wrapped('Hits with a tip offset below -0.25 R, by cue speed and object-ball distance:'),
    '',
    ...table(['stroke', 'shots', 'followed', 'drew', 'outcome distance'], rows),
    '',
    ...wrapped(
      slow !== undefined && slow.outcomes.length > 0 && slow.followed === slow.outcomes.length
        ? 'Every low hit with too little speed for the distance ended as a follow: the cloth had taken the backspin.'
        : `${slow?.followed ?? 0} of ${slow?.outcomes.length ?? 0} slow low hits ended as a follow.`,
    ),
  ];
}
