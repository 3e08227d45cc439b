import { describe, expect, it } from 'vitest';
import type { ShotInput } from '../../shared/shot.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { exampleGear, exampleShot } from './example-shot.ts';

type Reading = NonNullable<ShotInput['tipHeight']>;
const mm = (value: number) => ({ value, unit: 'mm' });
const degrees = (value: number) => ({ value, unit: 'deg' });
const run = (tipHeight: Reading, elevation: number, gear = exampleGear()) =>
  deriveShot(exampleShot({ tipHeight, elevation: degrees(elevation) }), gear);
const offset = (tipHeight: Reading, elevation = 0, gear = exampleGear()) =>
  run(tipHeight, elevation, gear).derived.tipOffset?.value ?? Number.NaN;

describe('tip offset from a reading', () => {
  // Worked examples of the geometry: R 28.575, dome 10.6, shaft 6.5 mm, station 45 mm.
  it('subtracts the shaft and the dome from the top edge of a level shaft', () => {
    const { derived } = run({ method: 'shaftTopEdge', topEdge: mm(-10), station: mm(45) }, 0);
    expect(derived.tipOffset?.value).toBeCloseTo(-0.421187, 6);
    expect((derived.tipHeight?.value ?? 0) * 1000).toBeCloseTo(-12.0354, 4);
  });

  it('turns with the elevation of the cue, and knows how sure that is', () => {
    const reading = {
      method: 'shaftTopEdge' as const,
      topEdge: mm(-5),
      station: mm(45),
      standardUncertainty: mm(0.15),
    };
    const { derived } = run(reading, 3, exampleGear({ scaleRelativeUncertainty: 0 }));
    expect(derived.tipOffset?.value).toBeCloseTo(-0.353498, 6);
    expect((derived.tipHeight?.value ?? 0) * 1000).toBeCloseTo(-8.6884, 4);
    // 0.243 mm with the ball radius exact; its tolerance adds nothing at this precision.
    expect((derived.tipOffset?.standardUncertainty ?? 0) * 28.575).toBeCloseTo(0.243, 2);
  });

  it('is the same from both edges, from the contact mark and from the ring there', () => {
    const expected = -0.421187;
    expect(offset({ method: 'shaftEdges', topEdge: mm(-10), bottomEdge: mm(-23) })).toBeCloseTo(expected, 6);
    expect(offset({ method: 'contactMark', height: mm(-12.0354) })).toBeCloseTo(expected, 5);
    expect(offset({ method: 'ring', ring: 3, ringStep: mm(4.0118), side: 'below' })).toBeCloseTo(expected, 5);
    expect(offset({ method: 'ring', ring: 3, ringStep: mm(4.0118), side: 'above' })).toBeCloseTo(-expected, 5);
  });

  it('takes a ring read against an edge of the shaft as that edge, at its station', () => {
    const ring = { method: 'ring' as const, ringStep: mm(2), side: 'below' as const, station: mm(45) };
    for (const elevation of [0, 3]) {
      const top = offset({ method: 'shaftTopEdge', topEdge: mm(-10), station: mm(45) }, elevation);
      expect(offset({ ...ring, ring: 5, edge: 'top' }, elevation)).toBeCloseTo(top, 12);
      const both = offset({ method: 'shaftEdges', topEdge: mm(-10), bottomEdge: mm(-23), station: mm(45) }, 0);
      expect(offset({ ...ring, ring: 11.5, edge: 'bottom' })).toBeCloseTo(both, 12);
    }
  });

  it('is as uncertain as the step of rings that was told apart', () => {
    const ring = { method: 'ring' as const, ringStep: mm(4), side: 'below' as const };
    const reading = (change: object) =>
      run({ ...ring, ring: 2, ...change }, 0).derived.budget.find(
        ({ result, input }) => result === 'tipOffset' && input === 'resolution of the rings',
      )?.contribution ?? Number.NaN;
    // Rectangular: 4 mm / sqrt 12 = 1.155 mm, over 28.575 mm.
    expect(reading({})).toBeCloseTo(Math.sqrt(16 / 12) / 28.575, 6);
    expect(reading({ resolution: 0.25 })).toBeCloseTo(Math.sqrt(1 / 12) / 28.575, 6);
    expect(reading({ ring: 2.5 })).toBeCloseTo(Math.sqrt(4 / 12) / 28.575, 6);
  });

  it('interpolates between the rings of an uneven scale, each with the resolution of its place', () => {
    const scale = (unit: string, values: number[]) => exampleGear({ ringHeights: { unit, values } });
    const uneven = scale('mm', [3, 7, 12]);
    const read = (ring: number, gear = uneven, side: 'above' | 'below' = 'below') =>
      run({ method: 'ring', ring, side }, 0, gear).derived;
    const heights = [0, 0.5, 1, 1.25, 2, 2.6, 3].map((ring) => (read(ring).tipHeight?.value ?? Number.NaN) * 1000);
    for (const [index, expected] of [0, -1.5, -3, -4, -7, -10, -12].entries()) {
      expect(heights[index]).toBeCloseTo(expected, 9);
    }
    expect((read(1.25, uneven, 'above').tipHeight?.value ?? 0) * 1000).toBeCloseTo(4, 9);
    const resolution = (ring: number) =>
      (read(ring).budget.find(({ result, input }) => result === 'tipHeight' && input === 'resolution of the rings')
        ?.contribution ?? Number.NaN) * 1000;
    // A whole ring was told from its neighbours half way to each; a fraction within its own interval.
    expect(resolution(2)).toBeCloseTo((4 + 5) / 2 / Math.sqrt(12), 9);
    expect(resolution(3)).toBeCloseTo(5 / Math.sqrt(12), 9);
    expect(resolution(0)).toBeCloseTo(3 / Math.sqrt(12), 9);
    expect(resolution(2.5)).toBeCloseTo((0.5 * 5) / Math.sqrt(12), 9);
    // In ball radii a scale owes nothing to the size of the ball.
    const ofBall = read(2, scale('R', [0.1, 0.25, 0.42])).tipOffset;
    expect(ofBall?.value).toBeCloseTo(-0.25, 12);
  });

  it('an even scale of the rig reads as the same step on the shot, which goes before it', () => {
    const even = exampleGear({ ringHeights: { unit: 'mm', values: [4, 8, 12, 16] } });
    for (const ring of [0, 1, 2, 2.5, 3.3]) {
      const [byScale, byStep] = [{}, { ringStep: mm(4) }].map(
        (step) => run({ method: 'ring', ring, side: 'below', ...step }, 0, even).derived.tipOffset,
      );
      expect(byScale?.value).toBeCloseTo(byStep?.value ?? Number.NaN, 12);
      expect(byScale?.standardUncertainty).toBeCloseTo(byStep?.standardUncertainty ?? Number.NaN, 12);
    }
    expect(offset({ method: 'ring', ring: 1, ringStep: mm(5), side: 'below' }, 0, even)).toBeCloseTo(-5 / 28.575, 9);
  });

  it('refuses a ring beyond the scale, and one without step or scale', () => {
    const short = exampleGear({ ringHeights: { unit: 'mm', values: [4, 8] } });
    const fault = (ring: number, gear = short) => run({ method: 'ring', ring, side: 'below' }, 0, gear).faults[0];
    expect(fault(2.5)).toMatchObject({ code: 'outside-ball', pointer: '/tipHeight/ring' });
    expect(fault(1, exampleGear())).toMatchObject({ code: 'scale-missing', pointer: '/tipHeight/ringStep' });
  });

  it("follows the rig's zero and direction of heights, but never for rings", () => {
    const cloth = exampleGear({ heightReference: 'cloth' });
    const down = exampleGear({ heightPositiveUp: false });
    expect(offset({ method: 'shaftTopEdge', topEdge: mm(18.575), station: mm(45) }, 0, cloth)).toBeCloseTo(
      -0.421187,
      6,
    );
    expect(offset({ method: 'shaftTopEdge', topEdge: mm(10), station: mm(45) }, 0, down)).toBeCloseTo(-0.421187, 6);
    const ring = { method: 'ring' as const, ring: 2, ringStep: mm(5), side: 'above' as const };
    expect(offset(ring, 0, cloth)).toBe(offset(ring));
    expect(offset(ring, 0, down)).toBe(offset(ring));
  });

  it('reads heights in ball radii free of the error of the scale', () => {
    const { derived } = run({ method: 'contactMark', height: { value: -0.4, unit: 'R' } }, 0);
    expect(derived.tipOffset?.value).toBeCloseTo(-0.4, 12);
    expect(derived.budget.find((line) => line.result === 'tipOffset' && line.input === 'scale')?.contribution).toBe(0);
    expect(derived.budget.find((line) => line.input === 'ball radius')?.contribution).toBeLessThan(1e-12);
  });

  it('carries the resolution of whole, half and finer rings, and the parallax that is common to the rig', () => {
    const reading = (ring: number, input: string, gear = exampleGear()) =>
      run({ method: 'ring', ring, ringStep: mm(5), side: 'above' }, 0, gear).derived.budget.find(
        (line) => line.result === 'tipOffset' && line.input === input,
      );
    const resolution = (ring: number) => reading(ring, 'resolution of the rings')?.contribution ?? 0;
    expect(resolution(2)).toBeCloseTo(5 / Math.sqrt(12) / 28.575, 9);
    expect(resolution(2.5)).toBeCloseTo(2.5 / Math.sqrt(12) / 28.575, 9);
    expect(resolution(2.3)).toBeCloseTo(0.5 / Math.sqrt(12) / 28.575, 9);
    const parallax = reading(2, 'parallax of the rings');
    expect(parallax).toMatchObject({ commonTo: 'rig' });
    expect(parallax?.contribution).toBeCloseTo(Math.PI / 180, 9);
    const stated = exampleGear({ ringParallax: mm(0.1) });
    expect(reading(2, 'parallax of the rings', stated)?.contribution).toBeCloseTo(0.1 / 28.575, 9);
  });

  it('takes a ring at an edge of the shaft like that edge', () => {
    const ring = { method: 'ring' as const, ring: 2, ringStep: mm(5), side: 'below' as const, station: mm(45) };
    const top = offset({ ...ring, edge: 'top' }, 3);
    expect(top).toBe(offset({ method: 'shaftTopEdge', topEdge: mm(-10), station: mm(45) }, 3));
    // The bottom edge lies two shaft radii (6.5 mm) below the top edge, across the axis.
    const lower = offset({ ...ring, edge: 'bottom' }, 3);
    expect(lower - top).toBeCloseTo((2 * 6.5) / (28.575 + 10.6), 9);
  });

  it('averages repeat readings, whose spread is a type A uncertainty', () => {
    const reading = (height: number) => ({ method: 'contactMark' as const, height: mm(height) });
    const derivedFrom = (...heights: number[]) =>
      deriveShot(
        exampleShot({
          tipHeight: reading(-10),
          elevation: degrees(0),
          repeats: heights.map((height) => ({ tipHeight: reading(height) })),
        }),
        exampleGear({ scaleRelativeUncertainty: 0 }),
      ).derived;
    const single = derivedFrom();
    const agreeing = derivedFrom(-10, -10, -10);
    const scattered = derivedFrom(-11, -9, -10);
    expect(scattered.tipOffset?.value).toBeCloseTo(single.tipOffset?.value ?? 0, 12);
    expect(derivedFrom(-10.4).tipOffset?.value).toBeCloseTo(-10.2 / 28.575, 9);
    const line = (shot: typeof single) =>
      shot.budget.find(({ input, result }) => input === 'mean of 4 readings' && result === 'tipOffset');
    expect(line(agreeing)).toMatchObject({ kind: 'A', commonTo: 'shot' });
    // Stated 0.3 mm with 10 degrees of freedom, spread of the four with 3.
    const pooled = (variance: number) => Math.sqrt((10 * 0.09 + 3 * variance) / 13 / 4) / 28.575;
    expect(line(agreeing)?.contribution).toBeCloseTo(pooled(0), 9);
    expect(line(scattered)?.contribution).toBeCloseTo(pooled(2 / 3), 9);
  });

  it('refuses a contact off the ball or off the dome of the tip', () => {
    const off = run({ method: 'contactMark', height: mm(30) }, 0).faults[0];
    expect(off).toMatchObject({ code: 'outside-ball', pointer: '/tipHeight' });
    expect(off?.found).toContain('30 mm');
    const rim = run({ method: 'shaftTopEdge', topEdge: mm(36), station: mm(45) }, 0).faults[0];
    expect(rim).toMatchObject({ code: 'outside-ball', pointer: '/tipHeight/topEdge' });
  });

  it('refuses a ring without a side', () => {
    expect(run({ method: 'ring', ring: 2, ringStep: mm(5) }, 0).faults[0]?.code).toBe('sign-missing');
    expect(run({ method: 'ring', ring: 0, ringStep: mm(5) }, 0).faults).toEqual([]);
  });

  it('warns of miscues and of a level cue in the cloth', () => {
    const low = run({ method: 'contactMark', height: mm(-16.5) }, 0).derived.flags;
    expect(low).toEqual(['miscueRisk', 'tipClearance']);
    expect(run({ method: 'contactMark', height: mm(-16.5) }, 4).derived.flags).toEqual(['miscueRisk']);
    expect(run({ method: 'contactMark', height: mm(-14) }, 0).derived.flags).toEqual([]);
  });

  it('widens and says so when the cue is not known', () => {
    const reading = { method: 'shaftTopEdge' as const, topEdge: mm(-10), station: mm(45) };
    const known = run(reading, 0).derived;
    const unknown = run(reading, 0, exampleGear({}, null)).derived;
    expect(unknown.flags).toContain('tipSizeAssumed');
    expect(unknown.tipOffset?.standardUncertainty).toBeGreaterThan(1.5 * (known.tipOffset?.standardUncertainty ?? 1));
    // Whichever cue it was, the lab used it with this rig.
    expect(unknown.budget.find(({ input }) => input === 'tip dome radius')).toMatchObject({
      commonTo: 'rig',
      group: 'rig north@1',
    });
  });
});
