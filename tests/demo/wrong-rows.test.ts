import { describe, expect, it } from 'vitest';
import { demoSeed, generateLab } from '../../src/demo/generator.ts';
import { demoLabs } from '../../src/demo/labs.ts';
import { olderSummaryCsv } from '../../src/demo/older-summary.ts';
import { mistakes, spoiled } from '../../src/demo/wrong-rows.ts';

describe('the mistakes of the demo', () => {
  it('change exactly the shots they name', () => {
    for (const lab of demoLabs) {
      const shots = generateLab(demoSeed, lab).map(({ shot }) => shot);
      const own = mistakes[lab.registration.slug] ?? [];
      const sent = spoiled(shots, own);
      const changed = shots.filter((shot, index) => JSON.stringify(shot) !== JSON.stringify(sent[index]));
      expect(changed.map(({ label }) => label).sort()).toEqual(own.map(({ label }) => label).sort());
    }
  });
});

describe('the older summaries of the demo', () => {
  const lab = demoLabs.at(-1) as (typeof demoLabs)[number];

  it('are a rectangular table with units in its header, the same on every run', () => {
    const text = olderSummaryCsv(demoSeed, lab, 5);
    expect(olderSummaryCsv(demoSeed, lab, 5)).toBe(text);
    const [header = '', ...rows] = text.trimEnd().split('\n');
    expect(rows).toHaveLength(5);
    // The note is quoted and holds the only comma inside a cell.
    for (const row of rows) expect(row.split(',')).toHaveLength(header.split(',').length + 1);
    for (const column of ['object_ball_distance[cm]', 'reported_cue_speed[km/h]', 'reported_contact_time[ms]']) {
      expect(header).toContain(column);
    }
  });
});
