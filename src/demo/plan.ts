/**
 * What the labs agreed to film: repeats at target tip offsets and speeds, half of them with the cue still gaining
 * speed at contact and half with it slowing, so that matched pairs exist in every lab.
 */

export interface Cell {
  /** Target b/R. */
  readonly tipOffset: number;
  /** Target cue speed, m/s. */
  readonly cueSpeed: number;
  /** m. */
  readonly objectBallDistance: number;
  /** Repeats of each way of stroking. */
  readonly repeats: number;
}

/** 100 shots a lab. */
export const cells: readonly Cell[] = [
  { tipOffset: -0.4, cueSpeed: 2.4, objectBallDistance: 0.5, repeats: 6 },
  { tipOffset: -0.4, cueSpeed: 3.1, objectBallDistance: 0.5, repeats: 5 },
  { tipOffset: -0.3, cueSpeed: 2.4, objectBallDistance: 0.5, repeats: 6 },
  { tipOffset: -0.3, cueSpeed: 3.1, objectBallDistance: 0.5, repeats: 5 },
  { tipOffset: -0.3, cueSpeed: 4.4, objectBallDistance: 0.5, repeats: 3 },
  { tipOffset: -0.2, cueSpeed: 3.1, objectBallDistance: 0.5, repeats: 5 },
  { tipOffset: -0.2, cueSpeed: 4.0, objectBallDistance: 0.5, repeats: 4 },
  // Low hits with too little speed for the distance: the backspin is gone before the object ball is reached.
  { tipOffset: -0.3, cueSpeed: 1.3, objectBallDistance: 1.1, repeats: 3 },
  { tipOffset: 0, cueSpeed: 3.1, objectBallDistance: 0.5, repeats: 3 },
  { tipOffset: 0, cueSpeed: 5.2, objectBallDistance: 0.5, repeats: 4 },
  { tipOffset: 0.25, cueSpeed: 1.4, objectBallDistance: 0.5, repeats: 4 },
  // Topspin at speed: most of these reach the cushion, and their outcome is only a bound.
  { tipOffset: 0.2, cueSpeed: 2.6, objectBallDistance: 0.5, repeats: 2 },
];

export interface PlannedShot {
  readonly cell: Cell;
  readonly style: 'accelerating' | 'slowing';
}

/** The shots of one lab in the order filmed: round after round through the cells, the two ways of stroking in turn. */
export function planOf(plan: readonly Cell[]): PlannedShot[] {
  const shots: PlannedShot[] = [];
  const rounds = Math.max(...plan.map((cell) => cell.repeats));
  for (let round = 0; round < rounds; round += 1) {
    for (const [index, cell] of plan.entries()) {
      if (round >= cell.repeats) continue;
      const accelerating = { cell, style: 'accelerating' } as const;
      const slowing = { cell, style: 'slowing' } as const;
      shots.push(...((round + index) % 2 === 0 ? [accelerating, slowing] : [slowing, accelerating]));
    }
  }
  return shots;
}
