import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { assembleColumns } from '../../src/pooling/assemble-columns.ts';
import { inventedRow, inventedShots, shuffled } from './invented-shots.ts';

describe('columns of shots', () => {
  it('are the same bits whatever the order of arrival', () => {
    const rows = inventedShots(['west', 'east-1', 'east', 'north'], 300).map((row, place) => ({
      ...row,
      player: place % 3 === 0 ? null : `P${(place * 7) % 11}`,
      sessionDate: `2026-02-${String((place % 20) + 1).padStart(2, '0')}`,
    }));
    const expected = assembleColumns(rows);
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1e6 }), (seed) => {
        expect(assembleColumns(shuffled(rows, seed))).toEqual(expected);
      }),
      { seed: 11, numRuns: 10 },
    );
  });

  it('stand by lab slug in code units, then by ordinal', () => {
    const columns = assembleColumns([
      inventedRow('b', 2, {}),
      inventedRow('a-b', 1, {}),
      inventedRow('b', 1, {}),
      inventedRow('a1', 9, {}),
      inventedRow('a', 10, {}),
    ]);
    const { codes, names } = columns.groups.lab;
    const order = [...codes].map((code, row) => `${names[code]} ${columns.ordinals[row]}`);
    expect(order).toEqual(['a 10', 'a-b 1', 'a1 9', 'b 1', 'b 2']);
    expect(columns.labels).toEqual(['shot 10', 'shot 1', 'shot 9', 'shot 1', 'shot 2']);
  });

  it('keep what belongs to a lab apart by its slug, and missing values as NaN and -1', () => {
    const columns = assembleColumns([
      inventedRow('a', 1, { cueSpeed: 2 }, { straight: false, strokeStyle: 'slow' }),
      inventedRow('b', 1, {}, { table: null, player: null, sessionDate: null }),
    ]);
    const names = (grouping: keyof typeof columns.groups) =>
      [...columns.groups[grouping].codes].map((code) => columns.groups[grouping].names[code] ?? null);
    expect(names('rig')).toEqual(['a/main@1', 'b/main@1']);
    expect(names('setUp')).toEqual(['a/club@1/cut', null]);
    expect(names('player')).toEqual(['a/P1', null]);
    expect(names('strokeStyle')).toEqual(['a/slow', null]);
    expect(names('sessionDate')).toEqual(['2026-01-01', null]);
    expect(columns.groups.table.codes[1]).toBe(-1);
    expect([...columns.variables.cueSpeed]).toEqual([2, Number.NaN]);
    expect(columns.uncertainties.cueSpeed[0]).toBeNaN();
  });

  it('of no shots are empty', () => {
    expect(assembleColumns([])).toMatchObject({ count: 0, labels: [] });
  });
});
