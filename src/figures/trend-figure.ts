/** The trend of a pooled regression: pooled curve with its interval, the labs' own lines, binned shots. */
import * as Plot from '@observablehq/plot';
import { quantities, type VariableName } from '../../shared/quantities.ts';
import type { RegressionResult } from '../../shared/regression.ts';
import { figure } from '../pooling/figures-in-words.ts';
import { labColours } from './lab-colours.ts';
import { ink, palette } from './palette.ts';
import { stackedFigure } from './stacked-figure.ts';

type Curve = NonNullable<RegressionResult['curve']>;

/** Label of an axis with its display unit. */
export function axisLabel(variable: VariableName): string {
  const { label, display } = quantities[variable];
  return display.unit === '1' ? label : `${label} (${display.unit})`;
}

/** The SVG document; the same bytes for the same answer. Null when the answer has no curve. */
export function trendFigure(result: RegressionResult): string | null {
  const { curve, specification, provenance } = result;
  if (curve === null) return null;
  const { response } = specification;
  const [x, y] = [quantities[curve.variable].display.factor, quantities[response].display.factor];
  const colours = labColours(provenance.labs.map(({ lab }) => lab));
  const lines = curve.labLines.flatMap(({ lab, points }) =>
    points.map(({ at, estimate }) => ({ lab, at: at * x, value: estimate * y })),
  );
  const points = curve.points.map(({ at, estimate, lower, upper }) => ({
    at: at * x,
    value: estimate * y,
    lower: lower * y,
    upper: upper * y,
  }));
  const data = result.ranges.find(({ variable }) => variable === curve.variable);
  const beyond = (at: number) => data !== undefined && (at < data.min * x || at > data.max * x);
  // A stretch beyond the data begins with the last point within, so that the line has no gap.
  const stretch = (outside: boolean) =>
    points.map((point, place) => {
      const near = [points[place - 1], points[place + 1]].some((other) => other !== undefined && beyond(other.at));
      const kept = outside ? beyond(point.at) || near : !beyond(point.at);
      return kept ? point : { ...point, value: Number.NaN };
    });
  const extrapolated = points.some(({ at }) => beyond(at));
  const bins = curve.bins.map((bin) => ({ at: bin.mean * x, value: bin.adjusted * y, shots: bin.shots }));
  const { label } = quantities[response];
  const title = `${label.charAt(0).toUpperCase()}${label.slice(1)} against ${quantities[curve.variable].label.toLowerCase()}`;
  const sentences = result.coefficients.filter(({ term }) => term !== 'intercept').map(({ sentence }) => sentence);
  const labCount = provenance.labs.length;
  return stackedFigure({
    title,
    description: `${describe(curve, labCount)} ${sentences.join(' ')}`,
    lines: [
      title,
      `${labCount} ${labCount === 1 ? 'lab' : 'labs'}, ${provenance.shots} shots. ${result.estimator.split(';')[0]}.`.replace(
        '..',
        '.',
      ),
      ...wrapped(curve.meaning),
      ...(curve.held.length === 0 ? [] : wrapped(`Held at: ${curve.held.map(held).join(', ')}.`)),
    ],
    panels: [
      {
        heading: `Line: fit with interval${extrapolated ? ', dashed beyond the data' : ''}. Thin lines: each lab alone. Circles: binned shots, area by number.`,
        height: 380,
        options: {
          x: { label: axisLabel(curve.variable), grid: true, labelOffset: 36 },
          y: { label: axisLabel(response), grid: true, nice: true },
          color: { domain: [...colours.keys()], range: [...colours.values()], legend: false },
          marks: [
            Plot.areaY(points, { x: 'at', y1: 'lower', y2: 'upper', fill: palette.blue, fillOpacity: 0.18 }),
            Plot.line(lines, { x: 'at', y: 'value', z: 'lab', stroke: 'lab', strokeWidth: 1.2, strokeOpacity: 0.8 }),
            Plot.dot(bins, {
              x: 'at',
              y: 'value',
              r: (bin: { shots: number }) => Math.sqrt(bin.shots),
              fill: 'none',
              stroke: ink.quiet,
            }),
            Plot.line(stretch(false), { x: 'at', y: 'value', stroke: palette.blue, strokeWidth: 2.5 }),
            ...(extrapolated
              ? [
                  Plot.line(stretch(true), {
                    x: 'at',
                    y: 'value',
                    stroke: palette.blue,
                    strokeWidth: 2.5,
                    strokeDasharray: '5,5',
                  }),
                ]
              : []),
            Plot.text(
              curve.labLines.flatMap(({ lab, points: own }) => {
                const last = own.at(-1);
                return last === undefined ? [] : [{ lab, at: last.at * x, value: last.estimate * y }];
              }),
              {
                x: 'at',
                y: 'value',
                text: 'lab',
                fill: 'lab',
                dx: 4,
                textAnchor: 'start',
                fontSize: 11,
                stroke: 'white',
                strokeWidth: 4,
              },
            ),
          ],
          marginRight: 90,
          marginTop: 24,
          marginBottom: 42,
        },
      },
    ],
  });
}

function held({ variable, value }: Curve['held'][number]): string {
  const { label, display } = quantities[variable];
  const unit = display.unit === '1' ? '' : ` ${display.unit}`;
  return `${label.toLowerCase()} ${figure(value * display.factor, 2)}${unit}`;
}

function describe(curve: Curve, labs: number): string {
  return `One curve over ${curve.points.length} points with a band for its interval, ${curve.labLines.length} thinner lines of the ${labs} labs, and ${curve.bins.length} circles for binned shots. ${curve.meaning}`;
}

/** Lines of at most about a hundred characters. */
export function wrapped(text: string): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    if (line !== '' && line.length + word.length + 1 > 104) {
      lines.push(line);
      line = word;
    } else {
      line = line === '' ? word : `${line} ${word}`;
    }
  }
  return [...lines, line];
}
