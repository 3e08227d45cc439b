import { describe, expect, it } from 'vitest';
import { type Filter, filterSchema } from '../../shared/analysis.ts';
import { flagMask, flagNames, flags } from '../../shared/flags.ts';
import { assembleColumns } from '../../src/pooling/assemble-columns.ts';
import { selectShots } from '../../src/pooling/select-shots.ts';
import { inventedRow } from './invented-shots.ts';

const columns = assembleColumns([
  inventedRow('a', 1, { cueSpeed: 1, contactTime: 1e-3 }),
  inventedRow('a', 2, { cueSpeed: 2, contactTime: null }),
  inventedRow('a', 3, { cueSpeed: null, contactTime: 1e-3 }),
  inventedRow('a', 4, { cueSpeed: 3, contactTime: 1e-3 }, { fromTrack: false }),
  inventedRow('b', 1, { cueSpeed: 3, contactTime: 1e-3 }, { flags: flagMask(['miscue', 'fewContactFrames']) }),
  inventedRow('b', 2, { cueSpeed: 3, contactTime: 1e-3 }, { flags: flagMask(['fewContactFrames']), player: null }),
]);

function chosen(filter: Partial<Filter>, needed: ('cueSpeed' | 'contactTime')[] = ['contactTime', 'cueSpeed']) {
  const { indices, leftOut, missing } = selectShots(columns, filterSchema.parse(filter), needed);
  const { codes, names } = columns.groups.lab;
  return {
    shots: [...indices].map((row) => `${names[codes[row] as number]}${columns.ordinals[row]}`),
    leftOut,
    missing,
  };
}

describe('the shots that take part', () => {
  it('are those from tracks, without a flag that leaves out, with every needed value; the others are counted by reason', () => {
    expect(chosen({})).toEqual({
      shots: ['a1', 'b2'],
      leftOut: [
        { reason: 'reported only, without a track', shots: 1 },
        { reason: 'flag miscue', shots: 1 },
        { reason: 'no contactTime', shots: 1 },
        { reason: 'no cueSpeed', shots: 1 },
      ],
      missing: [
        { variable: 'contactTime', lab: 'a', shots: 1 },
        { variable: 'cueSpeed', lab: 'a', shots: 1 },
      ],
    });
  });

  it('include reported and flagged shots when the filter asks for them', () => {
    expect(chosen({ includeReported: true, includeFlags: ['miscue'] }).shots).toEqual(['a1', 'a4', 'b1', 'b2']);
  });

  it('lie in closed intervals, and a missing value matches none, not even an open-ended one', () => {
    const range = (min?: number, max?: number) => ({
      ranges: [
        { variable: 'cueSpeed' as const, ...(min === undefined ? {} : { min }), ...(max === undefined ? {} : { max }) },
      ],
    });
    expect(chosen(range(1, 2), []).shots).toEqual(['a1', 'a2']);
    expect(chosen(range(), []).shots).toEqual(['a1', 'a2', 'b2']);
    expect(chosen(range(undefined, 0.999), []).shots).toEqual([]);
  });

  it('belong to one of the named groups, and a missing group matches none', () => {
    const only = (grouping: 'lab' | 'player', values: string[]) => chosen({ groups: [{ grouping, values }] }, []);
    expect(only('lab', ['b', 'c']).shots).toEqual(['b2']);
    expect(only('player', ['a/P1', 'b/P1']).shots).toEqual(['a1', 'a2', 'a3']);
    expect(only('lab', ['c'])).toMatchObject({ shots: [], leftOut: [{ reason: 'outside the filter', shots: 6 }] });
  });

  it('are left out by each flag that the table marks, and by no other', () => {
    for (const name of flagNames) {
      const one = assembleColumns([inventedRow('a', 1, { cueSpeed: 1 }, { flags: flagMask([name]) })]);
      expect(selectShots(one, filterSchema.parse({}), []).indices.length, name).toBe(flags[name].leftOut ? 0 : 1);
    }
  });
});
