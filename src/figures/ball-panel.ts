/** The panel of a shot's ball track. */
import * as Plot from '@observablehq/plot';
import type { DerivedShot } from '../../shared/derivation.ts';
import type { BallFigureData } from './ball-figure-data.ts';
import { ink, palette } from './palette.ts';
import type { Panel } from './stacked-figure.ts';

/** Place of the cue ball over time, with the impact and where it ended. */
export function ballPanel(
  { hasImpact, points, curves }: BallFigureData,
  { ball, outcomeDistance }: DerivedShot,
): Panel {
  const time = hasImpact ? 'Time after the ball-ball impact (s)' : 'Time on film (s)';
  const place = hasImpact ? 'Place from the impact (m)' : 'Place (m)';
  const rest =
    hasImpact && outcomeDistance !== null && ball?.read === true && ball.ended === 'atRest'
      ? [{ place: outcomeDistance.value }]
      : [];
  return {
    heading: `Cue ball: ○ tracked, line: fitted motion${hasImpact ? '; dashed upright: impact' : ''}${rest.length > 0 ? '; dotted: outcome distance' : ''}`,
    height: 200,
    options: {
      marginBottom: 42,
      x: { label: time, labelAnchor: 'center', labelArrow: 'none', tickSpacing: 90 } as Plot.ScaleOptions,
      y: {
        label: place,
        labelAnchor: 'center',
        labelArrow: 'none',
        grid: true,
        nice: true,
        inset: 4,
        tickSpacing: 32,
      } as Plot.ScaleOptions,
      marks: [
        ...(hasImpact
          ? [Plot.ruleX([0], { stroke: palette.vermilion, strokeWidth: 1.2, strokeDasharray: '5,3' })]
          : []),
        Plot.ruleY(rest, { y: 'place', stroke: palette.black, strokeWidth: 1.2, strokeDasharray: '1.5,3' }),
        Plot.dot(points, { x: 'time', y: 'place', r: 1.8, stroke: ink.quiet, strokeWidth: 0.8 }),
        ...curves.map((curve) => Plot.line(curve, { x: 'time', y: 'place', stroke: palette.orange, strokeWidth: 2 })),
      ],
    },
  };
}
