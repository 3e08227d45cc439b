import { expect, it } from 'vitest';
import { mapCoverage } from '../../src/comparison/map-coverage.ts';
import { type MadeShot, madeColumns } from './made-shots.ts';

const sign = { kind: 'sign', variable: 'cueAcceleration' } as const;
const steps = { tipOffset: 0.05, cueSpeed: 0.25, objectBallDistance: 0.1 };

const shot = (acceleration: number, tipOffset: number, cueSpeed: number, more: MadeShot = {}): MadeShot => ({
  ...more,
  variables: { cueAcceleration: acceleration, tipOffset, cueSpeed, objectBallDistance: 0.85, ...more.variables },
});

it('counts shots, pairs and what each side wants in every cell of a lab', () => {
  const columns = madeColumns([
    shot(5, -0.32, 3.1),
    shot(6, -0.34, 3.0),
    shot(7, -0.31, 3.2),
    shot(-5, -0.33, 3.05),
    shot(-6, -0.12, 2.6, { lab: 'south' }),
  ]);
  const { cells, labs } = mapCoverage(columns, sign, steps, null);
  expect(cells).toEqual([
    {
      lab: 'north',
      tipOffset: { from: -0.35, to: -0.3 },
      cueSpeed: { from: 3, to: 3.25 },
      first: 3,
      second: 1,
      pairs: 1,
      firstWanted: 0,
      secondWanted: 2,
    },
    {
      lab: 'south',
      tipOffset: { from: -0.15, to: -0.1 },
      cueSpeed: { from: 2.5, to: 2.75 },
      first: 0,
      second: 1,
      pairs: 0,
      firstWanted: 1,
      secondWanted: 0,
    },
  ]);
  expect(labs.map(({ lab, pairs, secondWanted }) => [lab, pairs, secondWanted])).toEqual([
    ['north', 1, 2],
    ['south', 0, 0],
  ]);
  expect(mapCoverage(columns, sign, steps, 'south').cells).toEqual(cells.slice(1));
});

it('pairs nobody across set-ups or object-ball distances', () => {
  const columns = madeColumns([
    shot(5, -0.32, 3.1),
    shot(-5, -0.32, 3.1, { table: 'club@2' }),
    shot(-5, -0.32, 3.1, { variables: { objectBallDistance: 1.05 } }),
  ]);
  const [cell] = mapCoverage(columns, sign, steps, null).cells;
  expect(cell).toMatchObject({ first: 1, second: 2, pairs: 0, firstWanted: 2, secondWanted: 1 });
});

it('puts a value on an edge into the cell above it, whatever the rounding of decimals', () => {
  const columns = madeColumns([shot(5, 0.15, 2.75), shot(5, -0.3, 0.25)]);
  const { cells } = mapCoverage(columns, sign, { ...steps, tipOffset: 0.05 }, null);
  expect(cells.map(({ tipOffset, cueSpeed }) => [tipOffset.from, cueSpeed.from])).toEqual([
    [-0.3, 0.25],
    [0.15, 2.75],
  ]);
});

it('says what is left out and why', () => {
  const columns = madeColumns([
    shot(5, -0.32, 3.1),
    shot(0, -0.32, 3.1),
    shot(5, -0.32, 3.1, { table: null }),
    shot(5, -0.32, 3.1, { variables: { objectBallDistance: null } }),
    shot(5, -0.32, 3.1, { fromTrack: false }),
  ]);
  const { leftOut } = mapCoverage(columns, sign, steps, null);
  expect(Object.fromEntries(leftOut.map(({ reason, shots }) => [reason, shots]))).toEqual({
    'reported only, without a track': 1,
    'no objectBallDistance': 1,
    'no set-up known: give the shot a table': 1,
    'on neither side of the contrast': 1,
  });
});
