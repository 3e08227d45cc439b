import { describe, expect, it } from 'vitest';
import { budgetedResults } from '../../shared/derivation.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { goldenShots } from '../golden/golden-shots.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import { exampleGear, exampleShot } from './example-shot.ts';

/** Lines and parts are formed by other sums than the total. */
const summation = 1e-12;

const { derived } = deriveShot(exampleShot(), exampleGear());

describe('the uncertainty budget', () => {
  it('adds up, line by line and part by part, to the standard uncertainty of every result of every golden shot', () => {
    let results = 0;
    for (const { shot, gear } of goldenShots()) {
      const each = deriveShot(shot, gear).derived;
      for (const name of budgetedResults) {
        const estimate = each[name];
        const lines = each.budget.filter(({ result }) => result === name);
        if (estimate === null) {
          expect(lines).toEqual([]);
          continue;
        }
        results += 1;
        const variance = estimate.standardUncertainty * estimate.standardUncertainty;
        const { shot: own, rig, cue, table } = estimate.parts ?? { shot: Number.NaN, rig: 0, cue: 0, table: 0 };
        expectRelative(own * own + rig * rig + cue * cue + table * table, variance, summation);
        expectRelative(
          lines.reduce((sum, { contribution }) => sum + contribution * contribution, 0),
          variance,
          summation,
        );
      }
    }
    expect(results).toBeGreaterThan(150);
  });

  it('states input, unit, sensitivity and contribution of every line', () => {
    for (const line of derived.budget) {
      expectRelative(line.contribution, Math.abs(line.sensitivity) * line.standardUncertainty, summation);
      expect(line.unit).not.toBe('');
    }
    const clock = derived.budget.find(({ result, input }) => result === 'contactTime' && input === 'capture rate');
    expect(clock).toMatchObject({ value: 1, unit: '1', standardUncertainty: 0.0001, kind: 'B', group: 'rig north@1' });
    expect(clock?.sensitivity).toBeCloseTo(-(derived.contactTime?.value ?? 0), 12);
  });

  it('keeps what shots of one rig or cue have in common apart from what averages away', () => {
    const groups = (name: string) =>
      new Set(
        derived.budget.filter(({ result }) => result === name).map(({ commonTo, group }) => `${commonTo}: ${group}`),
      );
    expect(groups('cueSpeed')).toEqual(new Set(['shot: null', 'rig: rig north@1']));
    expect(groups('tipOffset')).toEqual(
      new Set(['shot: null', 'rig: rig north@1', 'cue: cue ash@1', 'table: table club@1']),
    );
    const speed = derived.cueSpeed;
    expectRelative(speed?.parts?.rig ?? 0, (speed?.value ?? 0) * Math.sqrt(0.003 * 0.003 + 0.0001 * 0.0001), summation);
    expect(speed?.parts).toMatchObject({ cue: 0, table: 0 });
  });

  it("rests on the lab's own value, with an assumed uncertainty, where there is no track", () => {
    const { cueTrack: _track, ...rest } = exampleShot();
    const reported = { cueSpeed: { value: 3, unit: 'm/s' } };
    const summary = deriveShot({ ...rest, reported }, exampleGear()).derived;
    expect(summary.budget.filter(({ result }) => result === 'cueSpeed')).toMatchObject([
      { input: 'as reported (uncertainty assumed)', value: 3, contribution: 0.06, commonTo: 'shot', group: null },
    ]);
  });
});
