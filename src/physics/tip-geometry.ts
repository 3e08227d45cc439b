/**
 * Where the tip meets the ball, from what is read in the image.
 *
 * Axes: origin at the centre of the resting ball, z up, the cue comes from -x. The cue axis is inclined by the elevation
 * th (butt up). The tip is a dome of radius rho on the axis, the shaft has radius r_s at the place of reading. Two
 * spheres touch on their line of centres, so with L = R + rho and c the distance of the axis from the ball centre:
 *
 *   top edge:    c = z cos th + x sin th - r_s          bottom edge: + r_s; both: with their mean and without r_s
 *   b = c R / L                                         lever arm of the impulse; tip offset = b / R = c / L
 *   h = (R / L) [c cos th + sin th sqrt(L^2 - c^2)]     height of the contact point
 *   mark at h:   b = h cos th - sqrt(R^2 - h^2) sin th
 *
 * x = -station, the station being the horizontal distance of the place of reading from the ball centre, towards the butt.
 * Derived from the geometry; a level cue has b = h.
 */
import cos from '@stdlib/math-base-special-cos';
import sin from '@stdlib/math-base-special-sin';

/** A reading of the tip height; lengths in m relative to the ball centre, positive up. */
export type TipReading =
  | { readonly method: 'shaftTopEdge'; readonly topEdge: number; readonly station: number }
  | { readonly method: 'shaftBottomEdge'; readonly bottomEdge: number; readonly station: number }
  | {
      readonly method: 'shaftEdges';
      readonly topEdge: number;
      readonly bottomEdge: number;
      readonly station: number;
    }
  | { readonly method: 'contactMark'; readonly height: number };

export interface TipGear {
  /** m. */
  readonly ballRadius: number;
  /** Radius of the dome, m. */
  readonly tipRadius: number;
  /** Radius of the shaft at the place of reading, m. */
  readonly shaftRadius: number;
  /** Elevation of the cue, rad, butt up positive. */
  readonly elevation: number;
}

export type TipInput =
  | 'topEdge'
  | 'bottomEdge'
  | 'height'
  | 'station'
  | 'ballRadius'
  | 'tipRadius'
  | 'shaftRadius'
  | 'elevation';

/** Partial derivatives of the results by one input, all in SI. */
export interface TipSensitivity {
  readonly input: TipInput;
  readonly tipOffset: number;
  readonly tipHeight: number;
}

export type TipContact =
  | {
      readonly ok: true;
      /** Lever arm over ball radius, b/R; its arcsine is the angle between cue axis and contact normal. */
      readonly tipOffset: number;
      /** Height of the contact point above the ball centre, m. */
      readonly tipHeight: number;
      /** One line for each input that the reading uses, in a fixed order. */
      readonly sensitivities: readonly TipSensitivity[];
    }
  | { readonly ok: false; readonly reason: 'outsideBall' };

/** Finds the contact of tip and ball, or that the axis passes outside the ball. */
export function tipContact(reading: TipReading, gear: TipGear): TipContact {
  return reading.method === 'contactMark' ? fromMark(reading.height, gear) : fromAxis(reading, gear);
}

function fromAxis(reading: Exclude<TipReading, { method: 'contactMark' }>, gear: TipGear): TipContact {
  const { ballRadius, tipRadius, shaftRadius, elevation } = gear;
  const cosine = cos(elevation);
  const sine = sin(elevation);
  const height = heightOf(reading);
  // The axis lies a shaft radius below the top edge, above the bottom edge, midway between the two.
  const towardsAxis = { shaftTopEdge: -1, shaftBottomEdge: 1, shaftEdges: 0 }[reading.method];
  const axis = height * cosine - reading.station * sine + towardsAxis * shaftRadius;
  const reach = ballRadius + tipRadius;
  if (!(Math.abs(axis) < reach)) return { ok: false, reason: 'outsideBall' };

  const along = Math.sqrt(reach * reach - axis * axis);
  const centreHeight = axis * cosine + sine * along;
  const share = ballRadius / reach;
  const offsetByAxis = 1 / reach;
  const heightByAxis = share * (cosine - (sine * axis) / along);
  const byAxis = (input: TipInput, axisByInput: number): TipSensitivity => ({
    input,
    tipOffset: offsetByAxis * axisByInput,
    tipHeight: heightByAxis * axisByInput,
  });
  const offsetByReach = -axis / (reach * reach);
  const heightByReach = (-share * centreHeight) / reach + (share * sine * reach) / along;
  const elevationLine = byAxis('elevation', -height * sine - reading.station * cosine);
  return {
    ok: true,
    tipOffset: axis / reach,
    tipHeight: share * centreHeight,
    sensitivities: [
      ...(reading.method === 'shaftEdges'
        ? [byAxis('topEdge', cosine / 2), byAxis('bottomEdge', cosine / 2)]
        : [
            byAxis(reading.method === 'shaftTopEdge' ? 'topEdge' : 'bottomEdge', cosine),
            byAxis('shaftRadius', towardsAxis),
          ]),
      byAxis('station', -sine),
      { input: 'ballRadius', tipOffset: offsetByReach, tipHeight: heightByReach + centreHeight / reach },
      { input: 'tipRadius', tipOffset: offsetByReach, tipHeight: heightByReach },
      {
        input: 'elevation',
        tipOffset: elevationLine.tipOffset,
        tipHeight: elevationLine.tipHeight + share * (cosine * along - sine * axis),
      },
    ],
  };
}

function heightOf(reading: Exclude<TipReading, { method: 'contactMark' }>): number {
  if (reading.method === 'shaftTopEdge') return reading.topEdge;
  if (reading.method === 'shaftBottomEdge') return reading.bottomEdge;
  return (reading.topEdge + reading.bottomEdge) / 2;
}

function fromMark(height: number, gear: TipGear): TipContact {
  const { ballRadius, elevation } = gear;
  if (!(Math.abs(height) < ballRadius)) return { ok: false, reason: 'outsideBall' };
  const cosine = cos(elevation);
  const sine = sin(elevation);
  const along = Math.sqrt(ballRadius * ballRadius - height * height);
  const tipOffset = (height * cosine - along * sine) / ballRadius;
  return {
    ok: true,
    tipOffset,
    tipHeight: height,
    sensitivities: [
      { input: 'height', tipOffset: (cosine + (sine * height) / along) / ballRadius, tipHeight: 1 },
      { input: 'ballRadius', tipOffset: -sine / along - tipOffset / ballRadius, tipHeight: 0 },
      { input: 'elevation', tipOffset: (-height * sine - along * cosine) / ballRadius, tipHeight: 0 },
    ],
  };
}
