import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { cueContentSchema, labInputSchema, rigContentSchema, tableContentSchema } from '../../shared/gear.ts';
import { shotInputSchema } from '../../shared/shot.ts';
import { demoSeed, generateLab } from '../../src/demo/generator.ts';
import { contactHeight } from '../../src/demo/height-reading.ts';
import { demoLabs } from '../../src/demo/labs.ts';
import { randomStream } from '../../src/demo/random.ts';

const all = demoLabs.map((lab) => ({ lab, shots: generateLab(demoSeed, lab) }));
const shots = all.flatMap((entry) => entry.shots);
const digest = (value: unknown) => createHash('sha256').update(JSON.stringify(value)).digest('hex');

describe('the invented shots', () => {
  it('are the same on every run and on every machine', () => {
    expect(generateLab(demoSeed, demoLabs[0] as (typeof demoLabs)[number])).toEqual(all[0]?.shots);
    expect(digest(shots)).toBe('1f6fb6849ac332c17c917e9a9849f847fc90015dd61c6d4d5eba8c8dde8d001d');
  });

  it('are others under another seed', () => {
    expect(digest(demoLabs.map((lab) => generateLab(demoSeed + 1, lab)))).not.toBe(digest(all.map((e) => e.shots)));
  });

  it('are about 400 with tracks of 300 to 600 points from four labs with their own rates and units', () => {
    expect(all).toHaveLength(4);
    expect(shots).toHaveLength(400);
    for (const { shot } of shots) {
      const points = shot.cueTrack?.positions.length ?? 0;
      expect(points).toBeGreaterThan(290);
      expect(points).toBeLessThanOrEqual(600);
    }
    expect(new Set(demoLabs.map((lab) => lab.film.captureRate)).size).toBe(4);
    expect(new Set(demoLabs.map((lab) => lab.film.trackUnit.unit)).size).toBe(4);
    expect(new Set(demoLabs.map((lab) => lab.height.method)).size).toBe(4);
    expect(new Set(demoLabs.map((lab) => lab.film.trimMeaning)).size).toBe(3);
  });

  it('are what the interface accepts', () => {
    for (const lab of demoLabs) {
      labInputSchema.parse(lab.registration);
      rigContentSchema.parse(lab.rig.content);
      cueContentSchema.parse(lab.cue.content);
      tableContentSchema.parse(lab.table.content);
    }
    for (const { shot } of shots) shotInputSchema.parse(shot);
    expect(new Set(shots.map(({ lab, shot }) => `${lab} ${shot.label}`)).size).toBe(shots.length);
  });

  it('hold accelerating and slowing strokes at the same target in every lab', () => {
    for (const { shots: own } of all) {
      const gaining = own.filter(({ truth }) => truth.cueAcceleration > 0);
      const slowing = own.filter(({ truth }) => truth.cueAcceleration < 0);
      expect(gaining).toHaveLength(50);
      expect(slowing).toHaveLength(50);
      const paired = gaining.filter(({ truth }) =>
        slowing.some(
          (other) =>
            Math.abs(other.truth.cueSpeed - truth.cueSpeed) < 0.1 &&
            Math.abs(other.truth.tipOffset - truth.tipOffset) < 0.03 &&
            Math.abs(other.truth.objectBallDistance - truth.objectBallDistance) < 0.03,
        ),
      );
      expect(paired.length).toBeGreaterThan(40);
    }
  });

  it('touch the ball for about a millisecond, shorter the faster', () => {
    for (const { shots: own } of all) {
      const mean = (from: number, to: number) => {
        const times = own
          .filter(({ truth }) => truth.cueSpeed >= from && truth.cueSpeed < to)
          .map(({ truth }) => truth.contactTime);
        expect(times.length).toBeGreaterThan(4);
        return times.reduce((sum, time) => sum + time, 0) / times.length;
      };
      const byspeed = [mean(1, 2), mean(2, 3.6), mean(3.6, 6)];
      expect(byspeed[0]).toBeLessThan(0.0014);
      expect(byspeed[1]).toBeLessThan(byspeed[0] ?? 0);
      expect(byspeed[2]).toBeLessThan(byspeed[1] ?? 0);
      expect(byspeed[2]).toBeGreaterThan(0.0007);
    }
  });

  it('draw when hit low at speed, follow when hit high, and follow when hit low with too little speed', () => {
    const outcomes = (choose: (truth: (typeof shots)[number]['truth']) => boolean) =>
      shots.filter(({ truth }) => choose(truth)).map(({ truth }) => truth.outcomeDistance ?? 0);
    const drawn = outcomes((truth) => truth.tipOffset < -0.27 && truth.cueSpeed > 2.8);
    const high = outcomes((truth) => truth.tipOffset > 0.15);
    const lowAndSlow = outcomes((truth) => truth.tipOffset < -0.2 && truth.cueSpeed < 1.6);
    for (const some of [drawn, high, lowAndSlow]) expect(some.length).toBeGreaterThan(20);
    expect(Math.max(...drawn)).toBeLessThan(0);
    expect(Math.min(...high)).toBeGreaterThan(0);
    expect(Math.min(...lowAndSlow)).toBeGreaterThan(0);
  });

  it('stop at a cushion now and then, and the outcome says so', () => {
    for (const { shots: own } of all) {
      const cushion = own.filter(({ shot }) => shot.outcome?.ended === 'cushion');
      expect(cushion.length).toBeGreaterThan(4);
      expect(cushion.length).toBeLessThan(30);
    }
  });

  it('come from a model that imports nothing from the analysis', () => {
    const folder = fileURLToPath(new URL('../../src/demo', import.meta.url));
    const files = readdirSync(folder, { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.ts'));
    expect(files.length).toBeGreaterThan(10);
    for (const file of files) {
      const text = readFileSync(join(folder, file), 'utf8');
      expect(text, file).not.toMatch(
        /from '[^']*\/(kinematics|physics|derivation|statistics|matching|pooling|comparison|intake)\//,
      );
    }
  });
});

describe('the contact height of the demo', () => {
  it('is the lever arm for a level cue and above it for a raised butt', () => {
    const cue = {
      tipOffset: -0.3,
      ballRadius: 0.028575,
      tipRadius: 0.0106,
      shaftRadius: 0.0065,
      station: 0.045,
      elevation: 0,
    };
    expect(contactHeight(cue)).toBeCloseTo(-0.3 * 0.028575, 15);
    expect(contactHeight({ ...cue, elevation: 0.05 })).toBeGreaterThan(contactHeight(cue));
  });
});

describe('the random numbers of the demo', () => {
  it('have the moments they claim', () => {
    const random = randomStream(3, 'moments');
    const draws = Array.from({ length: 40_000 }, () => random.normal(2, 3));
    const mean = draws.reduce((sum, value) => sum + value, 0) / draws.length;
    const variance = draws.reduce((sum, value) => sum + (value - mean) * (value - mean), 0) / (draws.length - 1);
    // Four standard errors of the mean (3 / 200) and of the variance (9 * sqrt(2 / 40000)).
    expect(Math.abs(mean - 2)).toBeLessThan(0.06);
    expect(Math.abs(variance - 9)).toBeLessThan(0.26);
  });

  it('differ between streams of different names', () => {
    expect(randomStream(3, 'a').uniform()).not.toBe(randomStream(3, 'b').uniform());
    expect(randomStream(3, 'a').uniform()).toBe(randomStream(3, 'a').uniform());
  });
});
