/** What shots of a rig, cue or table err by in common reaches the columns of every analysis. */
import { beforeAll, expect, it } from 'vitest';
import type { DerivedShot } from '../../shared/derivation.ts';
import { listShots } from '../../src/intake/shots.ts';
import { commonPartNames, commonParts, type ShotColumns } from '../../src/pooling/columns.ts';
import { loadLiveColumns } from '../../src/pooling/load-columns.ts';
import { loadReleaseColumns } from '../../src/pooling/load-release-columns.ts';
import { createDataset } from '../../src/releases/datasets.ts';
import { freezeRelease } from '../../src/releases/freeze.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { fillTwoLabs, type TwoLabs } from '../releases/two-labs.ts';

onEachDatabase((open) => {
  let labs: TwoLabs;
  let columns: ShotColumns;
  let derived: DerivedShot[];
  beforeAll(async () => {
    const { db } = open();
    labs = await fillTwoLabs(db);
    columns = await loadLiveColumns(db, 'shared');
    const { shots } = await listShots(db, labs.curator, { limit: 1000 });
    derived = shots.map((each) => each.derived);
  });

  it('as the derivation states them, none of them zero by accident', () => {
    expect(columns.count).toBe(20);
    for (const name of commonPartNames) {
      const { of, to } = commonParts[name];
      // These tables are not calibrated, so that there is no residual to have parts.
      const parts = derived.map((each) => (of === 'outcomeResidual' ? Number.NaN : each[of]?.parts?.[to]));
      expect(Array.from(columns.commonUncertainties[name])).toEqual(parts);
    }
    // A mark on the ball owes nothing to the cue, and outcomes in metres owe nothing to camera or balls.
    const zero = commonPartNames.filter((name) => columns.commonUncertainties[name].every((part) => part === 0));
    expect(zero).toEqual(['tipOffsetCue', 'outcomeDistanceRig', 'outcomeDistanceTable']);
  });

  it('and leaves each shot, beside the parts in common, an error of its own', () => {
    for (const name of ['cueSpeed', 'cueAcceleration', 'contactTime'] as const) {
      for (let row = 0; row < columns.count; row += 1) {
        const common = columns.commonUncertainties[`${name}Rig`][row] ?? Number.NaN;
        const total = columns.uncertainties[name][row] ?? Number.NaN;
        const own = derived[row]?.[name]?.parts?.shot ?? Number.NaN;
        expect(Math.abs(own * own + common * common - total * total)).toBeLessThan(1e-12 * total * total);
        expect(own).toBeGreaterThan(0);
      }
    }
  });

  it('from a release as from the hot table', async () => {
    const { db } = open();
    const filter = { ranges: [], groups: [], includeReported: false, includeFlags: [] };
    await createDataset(db, labs.curator, { slug: 'all', title: 'All', licence: 'CC0-1.0', filter });
    await freezeRelease(db, labs.curator, 'all', { analyses: [] });
    const frozen = await loadReleaseColumns(db, 'all@1');
    expect(frozen.columns.commonUncertainties).toEqual(columns.commonUncertainties);
  });
});
