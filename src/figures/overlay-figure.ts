/** Two shots drawn over each other: cue tracks, speeds, ball tracks and outcomes. */
import * as Plot from '@observablehq/plot';
import type { OverlaidShot, Overlay } from '../../shared/overlay.ts';
import { quantities } from '../../shared/quantities.ts';
import { ink, palette } from './palette.ts';
import { type Panel, stackedFigure } from './stacked-figure.ts';
import { inWords } from './value-words.ts';

const looks = [
  { colour: palette.blue, symbol: 'circle', mark: '●' },
  { colour: palette.vermilion, symbol: 'triangle', mark: '▲' },
] as const;
const milli = 1000;

interface Drawn extends OverlaidShot {
  readonly look: (typeof looks)[number];
  /** Between the two: a place on the scale of outcomes. */
  readonly name: string;
}

/** The SVG document; the same bytes for the same shots. */
export function overlayFigure({ shots, sentence }: Overlay): string {
  const drawn = shots.map((shot, place): Drawn => {
    const look = looks[place === 0 ? 0 : 1];
    return { ...shot, look, name: `${look.mark} ${shot.label}` };
  });
  const title = `Shots ${shots[0].label} of ${shots[0].lab} and ${shots[1].label} of ${shots[1].lab}`;
  return stackedFigure({
    title,
    description: sentence,
    lines: [
      title,
      ...drawn.flatMap((shot) => [
        `${shot.look.mark} ${shot.label}: ${inWords('cueSpeed', shot.cueSpeed)}; ${inWords('cueAcceleration', shot.cueAcceleration)};`,
        `    ${inWords('contactTime', shot.contactTime)}; ${inWords('tipOffset', shot.tipOffset)}; ${inWords('outcomeDistance', shot.outcomeDistance)}`,
      ]),
    ],
    panels: [
      ...trackPanels(drawn, 'cue'),
      ...speedPanels(drawn),
      ...trackPanels(drawn, 'ball'),
      ...outcomePanels(drawn),
    ],
  });
}

function trackPanels(shots: readonly Drawn[], which: 'cue' | 'ball'): Panel[] {
  const given = shots.filter((shot) => shot[which].length > 0);
  if (given.length === 0) return [];
  const reasons = shots.flatMap((shot) => {
    const reason = which === 'cue' ? shot.cueReason : shot.ballReason;
    return reason === null ? [] : [` ${shot.look.mark} ${reason}.`];
  });
  const [scale, unit, time] = which === 'cue' ? [milli, 'mm', milli] : [100, 'cm', 1];
  const heading = which === 'cue' ? 'Cue about first contact' : 'Cue ball about the ball-ball impact';
  const timeLabel =
    which === 'cue' ? 'Time relative to first contact (ms)' : 'Time relative to the ball-ball impact (s)';
  return [
    {
      heading: `${heading}.${reasons.join('')}`,
      height: 200,
      options: {
        marginBottom: 42,
        marginRight: 34,
        x: axis(timeLabel),
        y: { label: `Position (${unit})`, grid: true, nice: true },
        marks: [
          Plot.ruleX([0], { stroke: ink.text, strokeDasharray: '3,3' }),
          Plot.ruleY([0], { stroke: ink.rule }),
          ...given.flatMap((shot) => {
            const points = shot[which].map((point) => ({
              time: point.time * time,
              position: point.position * scale,
            }));
            const marked = sparse(points);
            return [
              Plot.line(points, { x: 'time', y: 'position', stroke: shot.look.colour, strokeWidth: 1.8 }),
              Plot.dot(marked, {
                x: 'time',
                y: 'position',
                r: 3.2,
                symbol: shot.look.symbol,
                fill: shot.look.colour,
                stroke: '#ffffff',
                strokeWidth: 0.6,
              }),
            ];
          }),
        ],
      },
    },
  ];
}

/** About a dozen points that carry the mark of their shot, so that lines are told apart without colour. */
function sparse<Point>(points: readonly Point[]): Point[] {
  const step = Math.max(1, Math.ceil(points.length / 12));
  return points.filter((_, place) => place % step === Math.floor(step / 2));
}

function axis(label: string): Plot.ScaleOptions {
  return { label, labelAnchor: 'center', labelArrow: 'none', labelOffset: 36, grid: true } as Plot.ScaleOptions;
}

function speedPanels(shots: readonly Drawn[]): Panel[] {
  const given = shots.filter(({ cueFit }) => cueFit.length > 0);
  if (given.length === 0) return [];
  return [
    {
      heading: 'Cue speed along the fit; mark at zero: result at first contact with its 95 % interval',
      height: 180,
      options: {
        marginBottom: 42,
        marginRight: 34,
        x: axis('Time relative to first contact (ms)'),
        y: { label: 'Speed (m/s)', grid: true, nice: true },
        marks: [
          Plot.ruleX([0], { stroke: ink.text, strokeDasharray: '3,3' }),
          ...given.flatMap((shot, place) => {
            const curve = shot.cueFit.map(({ time, speed }) => ({ time: time * milli, speed }));
            // Beside each other, so that intervals at zero do not cover one another.
            const result = shot.cueSpeed === null ? [] : [{ ...shot.cueSpeed, time: 0 }];
            const dx = 5 + 9 * place;
            return [
              Plot.line(curve, { x: 'time', y: 'speed', stroke: shot.look.colour, strokeWidth: 2 }),
              Plot.link(result, { x: 'time', y1: 'lower', y2: 'upper', stroke: shot.look.colour, strokeWidth: 2, dx }),
              Plot.dot(result, { x: 'time', y: 'value', r: 4, symbol: shot.look.symbol, fill: shot.look.colour, dx }),
            ];
          }),
        ],
      },
    },
  ];
}

function outcomePanels(shots: readonly Drawn[]): Panel[] {
  const { factor, unit } = quantities.outcomeDistance.display;
  const rows = shots.map((shot) => ({
    name: shot.name,
    look: shot.look,
    value: shot.outcomeDistance === null ? null : shot.outcomeDistance.value * factor,
    lower: shot.outcomeDistance === null ? null : shot.outcomeDistance.lower * factor,
    upper: shot.outcomeDistance === null ? null : shot.outcomeDistance.upper * factor,
    bound: shot.outcomeBound === null ? null : shot.outcomeBound * factor,
  }));
  if (rows.every(({ value, bound }) => value === null && bound === null)) return [];
  return [
    {
      heading: 'Outcome with its 95 % interval: draw on the left of zero, follow on the right; → reached, not ended',
      height: 110,
      options: {
        marginBottom: 42,
        marginLeft: 130,
        marginRight: 34,
        x: { ...axis(`Draw/follow distance (${unit})`), nice: true },
        y: { label: null, domain: rows.map(({ name }) => name), type: 'band' },
        marks: [
          Plot.ruleX([0], { stroke: ink.text, strokeDasharray: '3,3' }),
          ...rows.flatMap(({ look, ...row }) => {
            const seen = row.value === null ? [] : [row];
            const bound = row.value === null && row.bound !== null ? [row] : [];
            return [
              Plot.ruleY(seen, { y: 'name', x1: 'lower', x2: 'upper', stroke: look.colour, strokeWidth: 2 }),
              Plot.dot(seen, { y: 'name', x: 'value', r: 5, symbol: look.symbol, fill: look.colour }),
              Plot.text(bound, {
                y: 'name',
                x: 'bound',
                text: ({ bound: reached }: { bound: number | null }) => ((reached ?? 0) < 0 ? '←' : '→'),
                fill: look.colour,
                fontSize: 18,
              }),
            ];
          }),
        ],
      },
    },
  ];
}
