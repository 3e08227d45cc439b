/** The drawings of a regression say in text what they show; the same answer is drawn with the same bytes. */
import { describe, expect, it } from 'vitest';
import { regressionSpecificationSchema } from '../../shared/regression.ts';
import { forestFigure } from '../../src/figures/forest-figure.ts';
import { trendFigure } from '../../src/figures/trend-figure.ts';
import { assembleColumns } from '../../src/pooling/assemble-columns.ts';
import { runRegression } from '../../src/pooling/run-regression.ts';
import { inventedShots } from '../pooling/invented-shots.ts';

const columns = assembleColumns(inventedShots(['east', 'north', 'south'], 30));
const ask = (question: object) =>
  runRegression(
    columns,
    regressionSpecificationSchema.parse({ response: 'contactTime', terms: [[{ variable: 'cueSpeed' }]], ...question }),
    { specificationDigest: '', dataVersion: '', methodVersion: '1' },
  );

describe('the trend', () => {
  it('is dashed beyond the data, where the declared range goes farther, and only there', () => {
    const declaredRanges = [{ variable: 'cueSpeed', min: 0.5, max: 6 }];
    const [within, beyond] = [trendFigure(ask({})), trendFigure(ask({ declaredRanges }))];
    expect(within).not.toContain('dashed beyond the data');
    expect(within).not.toContain('stroke-dasharray="5,5"');
    expect(beyond).toContain('dashed beyond the data');
    expect(beyond).toContain('stroke-dasharray="5,5"');
    expect(beyond).not.toMatch(/NaN|undefined/);
    expect(trendFigure(ask({ declaredRanges }))).toBe(beyond);
  });

  it('names every lab at the end of its line', () => {
    for (const lab of ['east', 'north', 'south']) expect(trendFigure(ask({}))).toContain(`>${lab}<`);
  });
});

describe('the forest', () => {
  it('writes each estimate with its interval at the end of its row, in the unit of the axis', () => {
    const result = ask({});
    const svg = forestFigure(result) as string;
    const [slope] = result.coefficients;
    // ms per m/s, to two digits of the standard error.
    const thousand = (value: number) => (value * 1000).toFixed(4).slice(0, 6);
    expect(svg).toContain(thousand(slope?.estimate as number).slice(0, 5));
    expect(svg.match(/-0\.\d+ \(-0\.\d+ to -0\.\d+\)/g)?.length).toBeGreaterThanOrEqual(5);
    expect(svg).toContain('ms per m/s');
    expect(svg).not.toMatch(/NaN|undefined/);
  });
});
