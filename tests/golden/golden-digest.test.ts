import { describe, expect, it } from 'vitest';
import { derivedShotSchema } from '../../shared/derivation.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { publishedMethods } from '../../src/derivation/methods.ts';
import { goldenDigest, goldenVersions } from './golden-digest.ts';
import { goldenShots } from './golden-shots.ts';

describe('the golden derivations', () => {
  it('have a digest for every published method version', () => {
    expect(goldenVersions.map(({ choices }) => choices.version)).toEqual([...publishedMethods.keys()]);
  });
});

describe.each(goldenVersions)('the golden derivations of method version $choices.version', ({ choices, expected }) => {
  const derived = goldenShots().map(({ shot, gear }) => deriveShot(shot, gear, choices));

  it('give the committed digest', () => {
    expect(goldenDigest(choices)).toBe(expected);
  });

  it('cover both sources, every reading, values and bounds, and most flags', () => {
    const numbers = derived.map((each) => each.derived);
    expect(new Set(numbers.map((each) => each.source)).size).toBe(2);
    expect(numbers.filter((each) => each.cueSpeed !== null).length).toBeGreaterThan(25);
    expect(numbers.filter((each) => each.outcomeBound !== null).length).toBeGreaterThan(10);
    expect(numbers.filter((each) => each.tipOffset !== null).length).toBeGreaterThan(25);
    expect(new Set(numbers.flatMap((each) => each.flags)).size).toBeGreaterThan(12);
    const balls = numbers.flatMap(({ ball }) => (ball?.read === true ? [ball] : []));
    expect(balls.filter(({ ballSpeed, impactTime }) => ballSpeed !== null && impactTime !== null)).toHaveLength(6);
    expect(numbers.filter(({ expected }) => expected.models.length > 1).length).toBeGreaterThan(3);
    expect(numbers.filter(({ firstContact }) => firstContact?.source === 'gap').length).toBeGreaterThan(1);
  });

  it('fit the schema of a derivation', () => {
    for (const each of derived) expect(derivedShotSchema.safeParse(each.derived).error).toBeUndefined();
  });
});
