/** Forest plot of a pooled regression: the slope of each lab, the pooled one, their mean, and a further lab. */
import * as Plot from '@observablehq/plot';
import { quantities } from '../../shared/quantities.ts';
import type { RegressionResult } from '../../shared/regression.ts';
import { termName } from '../pooling/canonical-specification.ts';
import { slopeDisplay } from '../pooling/coefficient-words.ts';
import { decimalsFor, figure } from '../pooling/figures-in-words.ts';
import { ink, palette } from './palette.ts';
import { type Panel, stackedFigure } from './stacked-figure.ts';
import { wrapped } from './trend-figure.ts';

type Block = RegressionResult['forest'][number];
type Row = Block['rows'][number];

/** The SVG document; the same bytes for the same answer. Null when the answer has no slopes. */
export function forestFigure(result: RegressionResult): string | null {
  if (result.forest.length === 0) return null;
  const { response } = result.specification;
  const title = `Slopes of ${quantities[response].label.toLowerCase()} by lab`;
  const blocks = result.forest.map((block) => displayed(block, result.specification));
  const sentences = result.synthesis.map(({ sentence }) => sentence);
  return stackedFigure({
    title,
    description: [
      ...result.forest.map(
        (block) => `${block.term}: ${block.rows.map((row) => rowText(row, block.unit)).join('; ')}.`,
      ),
      ...sentences,
    ].join(' '),
    lines: [
      title,
      ...wrapped(
        `${result.provenance.labs.length} labs, ${result.provenance.shots} shots; ${Math.round(result.specification.confidence * 1000) / 10} % intervals. Squares grow with the weight of the lab in the mean.`,
      ),
    ],
    panels: blocks.map(panelOf),
  });
}

/** The block in display units. */
function displayed(block: Block, { response, terms }: RegressionResult['specification']): Block {
  const term = terms.find((each) => termName(each) === block.term);
  if (term === undefined) return block;
  const { unit, factor } = slopeDisplay(response, term);
  const scaled = (value: number | null) => (value === null ? null : value * factor);
  const rows = block.rows.map((row) => {
    const ends = [scaled(row.lower), scaled(row.upper)] as const;
    return { ...row, estimate: scaled(row.estimate), lower: ends[0], upper: ends[1] };
  });
  return { ...block, unit, rows };
}

function rowText({ label, estimate, lower, upper, shots }: Row, unit: string): string {
  const counted = shots === null ? '' : `, ${shots} shots`;
  if (lower === null || upper === null) {
    return estimate === null
      ? `${label}${counted}, no slope of its own`
      : `${label}${counted}, ${figure(estimate, 4)} ${unit}`;
  }
  const decimals = decimalsFor((upper - lower) / 4);
  const interval = `${figure(lower, decimals)} to ${figure(upper, decimals)} ${unit}`;
  return estimate === null
    ? `${label}, ${interval}`
    : `${label}${counted}, ${figure(estimate, decimals)} (${interval})`;
}

/** Estimate and interval as they stand at the end of a row. */
function figures({ estimate, lower, upper }: Row): string {
  if (lower === null || upper === null) return estimate === null ? 'no slope of its own' : figure(estimate, 3);
  const decimals = decimalsFor((upper - lower) / 4);
  const interval = `${figure(lower, decimals)} to ${figure(upper, decimals)}`;
  return estimate === null ? interval : `${figure(estimate, decimals)} (${interval})`;
}

function panelOf(block: Block): Panel {
  const rows = block.rows.map((row) => ({
    ...row,
    name: row.shots === null || row.kind !== 'lab' ? row.label : `${row.label} (${row.shots})`,
    side: row.kind === 'lab' ? 3 + 5 * Math.sqrt(row.weight ?? 0) : 6,
  }));
  const shown = rows.filter(({ lower }) => lower !== null);
  const colour = (row: Row) =>
    row.kind === 'lab' ? ink.text : row.kind === 'prediction' ? palette.vermilion : palette.blue;
  return {
    heading: `${block.term}, ${block.unit}`,
    height: 56 + 22 * rows.length,
    options: {
      marginLeft: 190,
      marginRight: 180,
      marginBottom: 42,
      insetLeft: 8,
      insetRight: 8,
      x: { label: block.unit, grid: true, labelOffset: 36 },
      y: { label: null, domain: rows.map(({ name }) => name), type: 'band' },
      marks: [
        Plot.ruleX([0], { stroke: ink.quiet, strokeDasharray: '3,3' }),
        Plot.ruleY(shown, { y: 'name', x1: 'lower', x2: 'upper', stroke: colour, strokeWidth: 1.8 }),
        Plot.text(rows, {
          y: 'name',
          text: (row: Row) => figures(row),
          frameAnchor: 'right',
          textAnchor: 'start',
          dx: 12,
          fontSize: 11,
          fill: ink.text,
        }),
        Plot.dot(
          rows.filter(({ estimate }) => estimate !== null),
          {
            y: 'name',
            x: 'estimate',
            r: 'side',
            symbol: (row: Row) => (row.kind === 'lab' ? 'square' : 'diamond'),
            fill: colour,
          },
        ),
      ],
      r: { type: 'identity' },
      symbol: { type: 'identity', legend: false } as never,
    },
  };
}
