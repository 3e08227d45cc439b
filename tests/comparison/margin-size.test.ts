import { expect, it } from 'vitest';
import { Refusal } from '../../shared/refusal.ts';
import { marginSize } from '../../src/comparison/margin-size.ts';

const of = (value: number, unit: string) => ({ value, unit });
function refusalOf(run: () => unknown): Refusal {
  try {
    run();
  } catch (error) {
    if (error instanceof Refusal) return error;
    throw error;
  }
  throw new Error('nothing was refused');
}

it('a margin may be a number in SI, a value with its unit, or a size in balls of a stated diameter', () => {
  expect(marginSize('outcomeDistance', 0.03, undefined)).toBe(0.03);
  expect(marginSize('outcomeDistance', of(3, 'cm'), undefined)).toBeCloseTo(0.03, 15);
  expect(marginSize('contactTime', of(50, 'us'), undefined)).toBeCloseTo(5e-5, 18);
  expect(marginSize('outcomeDistance', of(0.5, 'ball'), undefined)).toBeCloseTo(0.028575, 15);
  expect(marginSize('outcomeDistance', of(0.5, 'ball'), of(52.5, 'mm'))).toBeCloseTo(0.02625, 15);
  expect(marginSize('outcomeDistance', of(1, 'R'), of(61.5, 'mm'))).toBeCloseTo(0.03075, 15);
});

it('a unit of another kind, one that needs a camera, and a size that is not above zero are refused with a remedy', () => {
  for (const size of [of(0.5, 's'), of(3, 'px'), of(0, 'cm'), of(-1, 'cm'), of(1, 'diamond')]) {
    const refused = refusalOf(() => marginSize('outcomeDistance', size, undefined));
    expect(refused.code).toBe('request-invalid');
    expect(refused.faults[0]).toMatchObject({ pointer: '/value', remedy: expect.stringMatching(/\w{3}/) });
  }
  const ball = refusalOf(() => marginSize('outcomeDistance', of(1, 'ball'), of(1, 'kg')));
  expect(ball.faults[0]?.pointer).toBe('/ballDiameter');
});
