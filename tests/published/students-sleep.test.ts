/** Student's sleep data (Biometrika 6, 1908), as analysed in the example of R's t.test help. */
import { describe, expect, it } from 'vitest';
import { differencePValue, pairedDifference, studentInterval } from '../../src/statistics/paired-difference.ts';

const firstDrug = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0];
const secondDrug = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];
const differences = Float64Array.from(firstDrug, (value, i) => value - (secondDrug[i] as number));

describe("Student's sleep data", () => {
  it('gives t = -4.0621 on 9 degrees of freedom, p = .002833, interval -2.4598858 to -0.7001142', () => {
    // R ?t.test output, widely reprinted [from memory], reproduced by R 4.2.2.
    const difference = pairedDifference(differences);
    expect(difference.estimate).toBeCloseTo(-1.58, 12);
    expect(difference.degreesOfFreedom).toBe(9);
    expect(Math.abs(difference.estimate / difference.standardError + 4.0621)).toBeLessThan(5e-5);
    expect(Math.abs(differencePValue(difference) - 0.002833)).toBeLessThan(5e-7);
    const { lower, upper } = studentInterval(difference, 0.95);
    expect(Math.abs(lower + 2.4598858)).toBeLessThan(5e-8);
    expect(Math.abs(upper + 0.7001142)).toBeLessThan(5e-8);
  });

  it('agrees with R 4.2.2 to every digit noted', () => {
    const difference = pairedDifference(differences);
    expect(Math.abs(difference.estimate / difference.standardError + 4.0621277)).toBeLessThan(5e-8);
    expect(Math.abs(differencePValue(difference) - 0.00283289)).toBeLessThan(5e-9);
    const { lower, upper } = studentInterval(difference, 0.95);
    expect(Math.abs(lower + 2.4598857633)).toBeLessThan(5e-11);
    expect(Math.abs(upper + 0.7001142367)).toBeLessThan(5e-11);
  });
});

describe("Darwin's maize (Fisher, Design of Experiments III, 1935) [from memory]", () => {
  it('gives a mean of 20.93 eighths of an inch and t = 2.148 on 14 degrees of freedom', () => {
    const eighths = Float64Array.of(49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48);
    const difference = pairedDifference(eighths);
    expect(Math.abs(difference.estimate - 20.93)).toBeLessThan(5e-3);
    expect(Math.abs(difference.estimate / difference.standardError - 2.148)).toBeLessThan(5e-4);
    expect(Math.abs(differencePValue(difference) - 0.0497029)).toBeLessThan(5e-8); // R 4.2.2
  });
});
