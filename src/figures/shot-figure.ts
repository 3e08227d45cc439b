/** The figure of one shot: track and fit, residuals, speed, acceleration, contact frames. */
import * as Plot from '@observablehq/plot';
import type { DerivedShot, Estimate } from '../../shared/derivation.ts';
import type { Shot } from '../../shared/shot.ts';
import type { UsedGear } from '../derivation/gear.ts';
import { figure } from '../pooling/figures-in-words.ts';
import { type BallFigureData, ballFigureData } from './ball-figure-data.ts';
import { ballPanel } from './ball-panel.ts';
import { ink, palette } from './palette.ts';
import { type ContactFrame, contactFrames, type StrokeFigureData, strokeFigureData } from './shot-figure-data.ts';
import { type Panel, stackedFigure } from './stacked-figure.ts';
import { deviationWords, intervalWords, inWords } from './value-words.ts';

export interface ShotFigureInput {
  readonly lab: string;
  readonly revision: number;
  readonly shot: Shot;
  readonly gear: UsedGear;
  readonly derived: DerivedShot;
}

/** The SVG document; the same bytes for the same derivation. */
export function shotFigure({ lab, revision, shot, gear, derived }: ShotFigureInput): string {
  const stroke = strokeFigureData(shot, gear, derived);
  const frames = contactFrames(shot);
  const ball = ballFigureData(shot, gear);
  const name = `Shot ${shot.label} of lab ${lab}`;
  const first = [inWords('cueSpeed', derived.cueSpeed), inWords('cueAcceleration', derived.cueAcceleration)];
  const second = [
    inWords('contactTime', derived.contactTime),
    inWords('tipOffset', derived.tipOffset),
    inWords('outcomeDistance', derived.outcomeDistance),
  ];
  const source = `revision ${revision}, method version ${derived.methodVersion}, ${stroke === null ? 'no fitted track' : `${derived.fit?.points} points fitted, order ${stroke.order}`}`;
  return stackedFigure({
    title: name,
    description: describe(stroke, frames, ball, [...first, ...second], derived),
    lines: [
      name,
      capital(`${source}. Values with standard uncertainty:`),
      capital(first.join('; ')),
      capital(second.join('; ')),
    ],
    panels: [
      ...(stroke === null ? [] : strokePanels(stroke, derived)),
      ...(frames.length === 0 ? [] : [contactPanel(frames, gear.rig.content.trimMeaning, derived)]),
      ...(ball === null ? [] : [ballPanel(ball, derived)]),
    ],
  });
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function describe(
  stroke: StrokeFigureData | null,
  frames: readonly ContactFrame[],
  ball: BallFigureData | null,
  values: readonly string[],
  derived: DerivedShot,
): string {
  const track =
    stroke === null
      ? 'There is no fitted cue track.'
      : `Panels under each other over time in milliseconds before first contact: position of the cue in millimetres with the fitted polynomial of order ${stroke.order} over the last ${figure(stroke.window, 1)} ms; residuals of the fit in micrometres; speed in metres a second and acceleration in metres a second squared along the fit, each with its result and 95 % interval at first contact; beside the speed, dots between means of neighbouring frames and their trend. ${derived.fit?.outlyingFrames.length ?? 0} frames stray from the track beyond chance.`;
  const closed = frames.filter(({ kind }) => kind === 'closed').length;
  const trimmed = frames.filter(({ kind }) => kind === 'trimmed').length;
  const contact =
    frames.length === 0 ? '' : ` A strip shows the frames about contact: ${closed} in contact, ${trimmed} trimmed.`;
  const rolled =
    ball === null
      ? ''
      : ' The last panel shows the place of the cue ball over time with its fit, from the ball-ball impact on where there is one.';
  return `${track}${contact}${rolled} Values with standard uncertainty: ${values.join('; ')}.`;
}

/** All panels over time share one axis, so that the eye can go straight down. */
function timeAxis({ window, points }: StrokeFigureData, label: string | null): Plot.ScaleOptions {
  const last = Math.max(window * 0.06, ...points.map(({ time }) => time));
  const earliest = Math.min(-window, ...points.map(({ time }) => time));
  return {
    domain: [earliest, last],
    label,
    labelAnchor: 'center',
    labelArrow: 'none',
    tickSpacing: 90,
  } as Plot.ScaleOptions;
}

const vertical = (label: string): Plot.ScaleOptions =>
  ({
    label,
    labelAnchor: 'center',
    labelArrow: 'none',
    grid: true,
    nice: true,
    inset: 4,
    tickSpacing: 32,
  }) as Plot.ScaleOptions;

/** Few points are drawn large enough to show beside the line, many small enough not to run together. */
function dotRadius({ points }: StrokeFigureData): number {
  return points.length < 80 ? 3.2 : 1.8;
}

function backdrop({ window }: StrokeFigureData): Plot.Markish[] {
  return [
    Plot.rectX([{ from: -window, to: 0 }], { x1: 'from', x2: 'to', fill: ink.shade }),
    Plot.ruleX([0], { stroke: palette.vermilion, strokeWidth: 1.2, strokeDasharray: '5,3' }),
  ];
}

function strokePanels(stroke: StrokeFigureData, derived: DerivedShot): Panel[] {
  const of = (kind: string) => stroke.points.filter((point) => point.kind === kind);
  const at = { x: 'time', y: 'position' };
  return [
    {
      heading: `Cue position: ● fitted, ○ not fitted, × jump; line: fit of order ${stroke.order}; shaded: its window; dashed: first contact`,
      height: 200,
      options: {
        x: timeAxis(stroke, null),
        y: vertical('Position (mm)'),
        marks: [
          ...backdrop(stroke),
          Plot.dot([...of('before'), ...of('after')], { ...at, r: 2, stroke: ink.quiet, strokeWidth: 0.8 }),
          Plot.dot(of('fitted'), { ...at, r: dotRadius(stroke), fill: palette.black }),
          Plot.line(stroke.curve, { ...at, stroke: palette.orange, strokeWidth: 2.2 }),
          Plot.dot(of('outlying'), { ...at, r: 4, symbol: 'times', stroke: palette.vermilion, strokeWidth: 2 }),
        ],
      },
    },
    residualPanel(stroke, derived),
    ratePanel(
      stroke,
      'speed',
      `${stroke.speedTrend.length === 0 ? 'Cue speed along the fit' : 'Cue speed along the fit; ○ between means of frames, dashed: trend'}; ◆ result${intervalWords('cueSpeed', derived.cueSpeed)}`,
      'Speed (m/s)',
      derived.cueSpeed,
      palette.blue,
    ),
    ...(stroke.order < 2
      ? []
      : [
          ratePanel(
            stroke,
            'acceleration',
            `Cue acceleration along the fit; ◆ result at first contact${intervalWords('cueAcceleration', derived.cueAcceleration)}`,
            'Acceleration (m/s²)',
            derived.cueAcceleration,
            palette.bluishGreen,
            'Time relative to first contact (ms)',
          ),
        ]),
  ];
}

/** The largest 1, 2 or 5 times a power of ten within a limit. */
function roundedDown(limit: number): number {
  const power = 10 ** Math.floor(Math.log10(limit));
  const steps = limit / power;
  return power * (steps >= 5 ? 5 : steps >= 2 ? 2 : 1);
}

/** The scale follows the points that were fitted; a jump beyond it stands at the edge with its size. */
function residualPanel(stroke: StrokeFigureData, derived: DerivedShot): Panel {
  const fitted = stroke.residuals.filter(({ outlying }) => !outlying);
  const largest = fitted.reduce((most, { residual }) => Math.max(most, Math.abs(residual)), 1e-3);
  const limit = 1.5 * largest;
  // At least one tick beside zero, or the axis would have no scale.
  const tick = roundedDown(limit);
  const jumps = stroke.residuals
    .filter(({ outlying }) => outlying)
    .map(({ time, residual }) => ({
      time,
      place: Math.max(-0.85 * limit, Math.min(0.85 * limit, residual)),
      size: `${figure(residual, 0).replace(/^-/, '−')} µm`,
    }));
  return {
    heading: `Residuals of the fit: standard deviation ${deviationWords(derived)}${jumps.length === 0 ? '' : '; × jump, with its size'}`,
    height: 128,
    options: {
      x: timeAxis(stroke, null),
      y: {
        ...vertical('Residual (µm)'),
        domain: [-limit, limit],
        nice: false,
        ticks: [-tick, 0, tick],
      } as Plot.ScaleOptions,
      marks: [
        ...backdrop(stroke),
        Plot.ruleY([0], { stroke: palette.orange, strokeWidth: 1.5 }),
        Plot.dot(fitted, { x: 'time', y: 'residual', r: dotRadius(stroke), fill: palette.black }),
        Plot.dot(jumps, { x: 'time', y: 'place', r: 4, symbol: 'times', stroke: palette.vermilion, strokeWidth: 2 }),
        Plot.text(jumps, { x: 'time', y: 'place', text: 'size', dx: 10, textAnchor: 'start', fill: palette.black }),
      ],
    },
  };
}

function ratePanel(
  stroke: StrokeFigureData,
  field: 'speed' | 'acceleration',
  heading: string,
  label: string,
  estimate: Estimate | null,
  colour: string,
  timeLabel: string | null = field === 'speed' && stroke.order < 2 ? 'Time relative to first contact (ms)' : null,
): Panel {
  const result = estimate === null ? [] : [{ time: 0, ...estimate }];
  return {
    heading,
    height: timeLabel === null ? 136 : 152,
    options: {
      ...(timeLabel === null ? {} : { marginBottom: 42 }),
      x: timeAxis(stroke, timeLabel),
      y: vertical(label),
      marks: [
        ...backdrop(stroke),
        Plot.line(stroke.curve, { x: 'time', y: field, stroke: colour, strokeWidth: 2.2 }),
        ...(field === 'speed' ? speedMarks(stroke) : []),
        Plot.link(result, { x: 'time', y1: 'lower', y2: 'upper', stroke: palette.black, strokeWidth: 2 }),
        Plot.dot(result, { x: 'time', y: 'value', r: 4, symbol: 'diamond', fill: colour, stroke: palette.black }),
      ],
    },
  };
}

/** Speeds straight from the track, beside the derivative of the fit. */
function speedMarks({ blockSpeeds, speedTrend }: StrokeFigureData): Plot.Markish[] {
  const at = { x: 'time', y: 'speed' };
  return [
    Plot.dot(blockSpeeds, { ...at, r: 2, stroke: ink.quiet, strokeWidth: 0.8 }),
    Plot.line(speedTrend, { ...at, stroke: palette.black, strokeWidth: 1, strokeDasharray: '4,3' }),
  ];
}

const trimWords = {
  correction: 'no contact',
  undecided: 'undecided',
  unknown: 'unknown',
} as const;

function contactPanel(
  frames: readonly ContactFrame[],
  trimMeaning: keyof typeof trimWords,
  { contactTime }: DerivedShot,
): Panel {
  const cell = (kind: ContactFrame['kind'], fill: string, stroke: string) =>
    Plot.rect(
      frames.filter((each) => each.kind === kind).map(({ frame }) => ({ from: frame - 0.45, to: frame + 0.45 })),
      { x1: 'from', x2: 'to', y1: 0, y2: 1, fill, stroke, strokeWidth: 1 },
    );
  const mark = { open: '', closed: '●', trimmed: '×' } as const;
  const trimmed = frames.some(({ kind }) => kind === 'trimmed') ? `× trimmed (${trimWords[trimMeaning]}), ` : '';
  const interval = intervalWords('contactTime', contactTime);
  const last = frames.length - 1;
  return {
    heading: `Frames about contact: ● contact, ${trimmed}empty: none${interval === '' ? '' : `; contact time${interval}`}`,
    height: 84,
    options: {
      marginBottom: 42,
      x: {
        domain: [(frames[0]?.frame ?? 0) - 0.6, (frames[last]?.frame ?? 0) + 0.6],
        label: 'Frame number',
        labelAnchor: 'center',
        labelArrow: 'none',
        tickFormat: (frame: number) => String(frame),
        ticks: frames.map(({ frame }) => frame).filter((_, place) => place % Math.ceil(frames.length / 16) === 0),
      } as Plot.ScaleOptions,
      y: { axis: null, domain: [0, 1] },
      marks: [
        cell('open', '#ffffff', ink.quiet),
        cell('closed', palette.skyBlue, palette.black),
        cell('trimmed', palette.yellow, palette.black),
        Plot.text(frames, {
          x: 'frame',
          y: 0.5,
          text: (each: ContactFrame) => mark[each.kind],
          fontSize: 12,
          fill: palette.black,
        }),
      ],
    },
  };
}
