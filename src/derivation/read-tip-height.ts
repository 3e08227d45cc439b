/** The reading of the tip height as sent, turned into SI about the ball centre, with what its errors depend on. */
import type { Measure } from '../../shared/measure.ts';
import type { Shot, TipHeightReading } from '../../shared/shot.ts';
import type { TipReading } from '../physics/tip-geometry.ts';
import { carriesScaleError, convertMeasure, convertOptional } from './convert-measure.ts';
import { assumedStation, givenUncertainties } from './gear-defaults.ts';
import type { SettledGear } from './settle-gear.ts';

/** How one height of the reading depends on what is common to many shots. */
export interface HeightDependence {
  readonly input: 'topEdge' | 'bottomEdge' | 'height';
  /** m above the ball centre. */
  readonly height: number;
  /** d height / d relative error of the scale, m. */
  readonly byScale: number;
  /** d height / d ball radius. */
  readonly byBallRadius: number;
}

export interface ReadTipHeight {
  readonly reading: TipReading;
  readonly heights: readonly HeightDependence[];
  /** Standard uncertainty of each height, m. */
  readonly readingUncertainty: number;
  /** Further errors of the first height, m. */
  readonly further: readonly {
    readonly input: string;
    readonly standardUncertainty: number;
    readonly commonTo: 'shot' | 'rig';
  }[];
  readonly stationUncertainty: number;
  /** False when the station was not sent and 45 mm are taken. */
  readonly stationGiven: boolean;
}

/**
 * Heights are turned by the rig's conventions: positive up or down, zero at the ball centre or the cloth (one ball
 * radius below it). Rings are counted from the ball centre and carry no sign of the rig.
 *
 * @returns null when a unit cannot be converted or the side of a ring is missing
 */
export function readTipHeight(sent: NonNullable<Shot['tipHeight']>, gear: SettledGear): ReadTipHeight | null {
  const given = convertOptional(sent.standardUncertainty, 'heightReading', gear.context);
  const readingUncertainty = Math.abs(given ?? gear.heightUncertainty);
  if (sent.method === 'ring') return readRing(sent, given, readingUncertainty, gear);
  if (sent.method === 'contactMark') {
    const mark = heightOf(sent.height, 'height', gear);
    if (mark === null) return null;
    return {
      reading: { method: 'contactMark', height: mark.height },
      heights: [mark],
      readingUncertainty,
      further: [],
      stationUncertainty: 0,
      stationGiven: true,
    };
  }
  const top = heightOf(sent.topEdge, 'topEdge', gear);
  const bottom = sent.method === 'shaftEdges' ? heightOf(sent.bottomEdge, 'bottomEdge', gear) : null;
  const sentStation = convertOptional(sent.station, 'heightReading', gear.context);
  const station = sentStation ?? assumedStation.value;
  if (top === null || (sent.method === 'shaftEdges' && bottom === null)) return null;
  return {
    reading:
      bottom === null
        ? { method: 'shaftTopEdge', topEdge: top.height, station }
        : { method: 'shaftEdges', topEdge: top.height, bottomEdge: bottom.height, station },
    heights: bottom === null ? [top] : [top, bottom],
    readingUncertainty,
    further: [],
    stationUncertainty: sentStation === null ? assumedStation.standardUncertainty : givenUncertainties.station,
    stationGiven: sentStation !== null,
  };
}

function heightOf(measure: Measure, input: HeightDependence['input'], gear: SettledGear): HeightDependence | null {
  const read = convertMeasure(measure, 'heightReading', gear.context);
  if (read === null) return null;
  const up = gear.rig.heightPositiveUp ? read : -read;
  const fromCloth = gear.rig.heightReference === 'cloth';
  const scaled = carriesScaleError(measure);
  return {
    input,
    height: fromCloth ? up - gear.ballRadius.value : up,
    byScale: scaled ? up : 0,
    byBallRadius: (fromCloth ? -1 : 0) + (scaled ? 0 : up / gear.ballRadius.value),
  };
}

/** A whole ring is read to a ring, a half to a half, anything else to a tenth: rectangular over that step. */
function ringResolution(ring: number): number {
  if (Number.isInteger(ring)) return 1;
  return Number.isInteger(2 * ring) ? 0.5 : 0.1;
}

/** Height of a ring above the ball centre and the height that one ring spans there, m. */
interface RingPlace {
  readonly height: number;
  readonly span: number;
  readonly inBallRadii: boolean;
}

/**
 * By the step of the shot, else between the rings of the rig's scale: linear between two neighbours. At a ring that is
 * read as a whole the span is half the way to each neighbour together.
 *
 * @returns null without a step or scale, with a unit that cannot be converted, or beyond the last ring of the scale
 */
function ringPlace(ring: number, ringStep: Measure | undefined, gear: SettledGear): RingPlace | null {
  if (ringStep !== undefined) {
    const step = convertMeasure(ringStep, 'heightReading', gear.context);
    return step === null
      ? null
      : { height: ring * step, span: Math.abs(step), inBallRadii: !carriesScaleError(ringStep) };
  }
  const scale = gear.rig.ringHeights;
  if (scale === undefined) return null;
  const { unit, values } = scale;
  const at = (place: number) => {
    const value = place === 0 ? 0 : values[place - 1];
    return value === undefined ? null : convertMeasure({ value, unit }, 'heightReading', gear.context);
  };
  const lower = Math.floor(ring);
  const [below, here, above] = [lower === 0 ? null : at(lower - 1), at(lower), at(lower + 1)];
  if (here === null || (above === null && ring > lower)) return null;
  const inBallRadii = !carriesScaleError({ value: 1, unit });
  if (ring > lower && above !== null) {
    return { height: here + (ring - lower) * (above - here), span: above - here, inBallRadii };
  }
  // The centre has the first ring on both sides; the last ring has a neighbour below only.
  const down = below === null ? (above ?? here) - here : here - below;
  const up = above === null ? down : above - here;
  return { height: here, span: (down + up) / 2, inBallRadii };
}

function readRing(
  sent: Extract<TipHeightReading, { method: 'ring' }>,
  givenUncertainty: number | null,
  readingUncertainty: number,
  gear: SettledGear,
): ReadTipHeight | null {
  const place = ringPlace(sent.ring, sent.ringStep, gear);
  if (place === null || (sent.side === undefined && sent.ring !== 0)) return null;
  const height = (sent.side === 'below' ? -1 : 1) * place.height;
  const resolution = ((sent.resolution ?? ringResolution(sent.ring)) * place.span) / Math.sqrt(12);
  const input = ({ contact: 'height', top: 'topEdge', bottom: 'bottomEdge' } as const)[sent.edge];
  const sentStation = convertOptional(sent.station, 'heightReading', gear.context);
  const station = sentStation ?? assumedStation.value;
  const readings = {
    contact: { method: 'contactMark', height },
    top: { method: 'shaftTopEdge', topEdge: height, station },
    bottom: { method: 'shaftBottomEdge', bottomEdge: height, station },
  } as const;
  return {
    reading: readings[sent.edge],
    // Rings are printed on the ball, so their distance owes nothing to the scale of the film.
    heights: [
      {
        input,
        height,
        byScale: 0,
        byBallRadius: place.inBallRadii ? height / gear.ballRadius.value : 0,
      },
    ],
    readingUncertainty,
    // A stated uncertainty covers the whole reading.
    further:
      givenUncertainty === null
        ? [
            { input: 'resolution of the rings', standardUncertainty: resolution, commonTo: 'shot' },
            { input: 'parallax of the rings', standardUncertainty: gear.ringParallax, commonTo: 'rig' },
          ]
        : [],
    stationUncertainty: sentStation === null ? assumedStation.standardUncertainty : givenUncertainties.station,
    stationGiven: sentStation !== null,
  };
}
