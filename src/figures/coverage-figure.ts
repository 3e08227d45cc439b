/** The coverage map drawn: a panel a lab, a cell for tip offset and cue speed, marks for what is wanted. */
import * as Plot from '@observablehq/plot';
import type { Coverage, CoverageCell } from '../../shared/coverage.ts';
import { ink, palette } from './palette.ts';
import { type Panel, stackedFigure } from './stacked-figure.ts';
import { axisLabel, wrapped } from './trend-figure.ts';

/** The SVG document; the same bytes for the same map. Null when there is nothing to draw. */
export function coverageFigure(coverage: Coverage): string | null {
  const { labs, cells, sides } = coverage;
  if (cells.length === 0) return null;
  const title = 'Where the next shots would make new pairs';
  const extent = extentOf(cells);
  return stackedFigure({
    title,
    description: labs.map(({ sentence }) => sentence).join(' '),
    lines: [
      title,
      ...wrapped(
        `Blue: shots for pairs, darker for more, with their number. ▲: ${sides.first} wanted. ▼: ${sides.second} wanted. Each would make one more pair, on the same set-up and object-ball distance.`,
      ),
    ],
    panels: labs.map((lab, place) =>
      panelOf(
        `${lab.lab}: ${lab.pairs} pairs, ▲ ${lab.firstWanted}, ▼ ${lab.secondWanted}`,
        cells.filter((cell) => cell.lab === lab.lab),
        extent,
        Math.max(...cells.map(({ pairs }) => pairs)),
        place === labs.length - 1,
      ),
    ),
  });
}

interface Extent {
  readonly offset: readonly [number, number];
  readonly speed: readonly [number, number];
}

function extentOf(cells: readonly CoverageCell[]): Extent {
  const least = (values: readonly number[]) => values.reduce((low, value) => Math.min(low, value));
  const most = (values: readonly number[]) => values.reduce((high, value) => Math.max(high, value));
  return {
    offset: [least(cells.map(({ tipOffset }) => tipOffset.from)), most(cells.map(({ tipOffset }) => tipOffset.to))],
    speed: [least(cells.map(({ cueSpeed }) => cueSpeed.from)), most(cells.map(({ cueSpeed }) => cueSpeed.to))],
  };
}

function panelOf(
  heading: string,
  cells: readonly CoverageCell[],
  extent: Extent,
  mostPairs: number,
  last: boolean,
): Panel {
  const rows = cells.map((cell) => ({
    x1: cell.tipOffset.from,
    x2: cell.tipOffset.to,
    y1: cell.cueSpeed.from,
    y2: cell.cueSpeed.to,
    x: (cell.tipOffset.from + cell.tipOffset.to) / 2,
    y: (cell.cueSpeed.from + cell.cueSpeed.to) / 2,
    pairs: cell.pairs,
    count: String(cell.pairs),
    shade: mostPairs === 0 ? 0 : cell.pairs / mostPairs,
    wanted: [
      ...(cell.firstWanted > 0 ? [`▲${cell.firstWanted}`] : []),
      ...(cell.secondWanted > 0 ? [`▼${cell.secondWanted}`] : []),
    ].join(' '),
  }));
  const speeds = Math.round(
    (extent.speed[1] - extent.speed[0]) / (rows[0] === undefined ? 1 : rows[0].y2 - rows[0].y1),
  );
  return {
    heading,
    height: Math.min(420, Math.max(110, 30 * speeds + (last ? 76 : 56))),
    options: {
      marginTop: 24,
      ...(last ? { marginBottom: 42 } : {}),
      x: { domain: [...extent.offset], label: last ? axisLabel('tipOffset') : null, labelOffset: 36 },
      y: { domain: [...extent.speed], label: axisLabel('cueSpeed'), grid: true },
      marks: [
        Plot.rect(rows, {
          x1: 'x1',
          x2: 'x2',
          y1: 'y1',
          y2: 'y2',
          fill: palette.skyBlue,
          fillOpacity: 'shade',
          stroke: ink.quiet,
          strokeWidth: 0.7,
        }),
        ...[
          { rows: rows.filter(({ pairs, wanted }) => pairs > 0 && wanted === ''), text: 'count', dy: 0 },
          { rows: rows.filter(({ pairs, wanted }) => pairs > 0 && wanted !== ''), text: 'count', dy: -6 },
          { rows: rows.filter(({ pairs, wanted }) => pairs > 0 && wanted !== ''), text: 'wanted', dy: 7 },
          { rows: rows.filter(({ pairs, wanted }) => pairs === 0 && wanted !== ''), text: 'wanted', dy: 0 },
        ].map(({ rows: shown, text, dy }) =>
          Plot.text(shown, {
            x: 'x',
            y: 'y',
            text,
            dy,
            fill: ink.text,
            ...(text === 'count' ? { fontWeight: 600 } : {}),
          }),
        ),
      ],
      opacity: { type: 'identity' } as never,
    },
  };
}
