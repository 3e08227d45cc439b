/** What a derivation starts from: as sent, as used, with what uncertainty, and who said so. */
import type { DerivationInput } from '../../../shared/explanation.ts';
import type { Measure } from '../../../shared/measure.ts';
import type { QuantityName } from '../../../shared/quantities.ts';
import { quantities } from '../../../shared/quantities.ts';
import type { Shot } from '../../../shared/shot.ts';
import { convertOptional } from '../convert-measure.ts';
import { assumedBallSpeedUncertainty } from '../derive-ball-speed.ts';
import { assumedGiven } from '../expectation-inputs.ts';
import type { UsedGear } from '../gear.ts';
import {
  assumedElevationUncertainty,
  assumedOutcomeUncertainty,
  assumedStation,
  givenUncertainties,
  type UncertainInput,
} from '../gear-defaults.ts';
import type { SettledGear } from '../settle-gear.ts';

const words = (measure: Measure | undefined): string | null =>
  measure === undefined ? null : `${measure.value} ${measure.unit}`;

/** Inputs of a shot that matter to its numbers, gear first. */
export function explainInputs(shot: Shot, gear: UsedGear, settled: SettledGear): DerivationInput[] {
  const rig = `rig ${gear.rig.name}@${gear.rig.version}`;
  const cue = gear.cue === null ? null : `cue ${gear.cue.name}@${gear.cue.version}`;
  const table = gear.table === null ? null : `table ${gear.table.name}@${gear.table.version}`;
  const { content } = gear.rig;
  const size = (name: string, input: UncertainInput, from: string | null, sent: string | null): DerivationInput => ({
    name,
    sent,
    value: input.value,
    unit: 'm',
    standardUncertainty: input.standardUncertainty,
    from: input.assumed || from === null ? 'assumed' : from,
  });
  const tipRadius = gear.cue?.content.tipRadius;
  return [
    {
      name: 'capture rate',
      sent: words(content.captureRate),
      value: settled.captureRate,
      unit: '1/s',
      standardUncertainty: settled.captureRate * settled.clockUncertainty,
      from: rig,
    },
    ...(content.scale === undefined
      ? []
      : [
          {
            name: 'scale',
            sent: words(content.scale),
            value: settled.context.metresPerPixel ?? null,
            unit: 'm/px',
            standardUncertainty: (settled.context.metresPerPixel ?? 0) * settled.scaleUncertainty,
            from: rig,
          },
        ]),
    ...(settled.exposure === null
      ? []
      : [
          {
            name: 'exposure',
            sent: words(content.exposure),
            value: settled.exposure,
            unit: 's',
            standardUncertainty: null,
            from: rig,
          },
        ]),
    size('ball radius', settled.ballRadius, table, half(words(gear.table?.content.ballDiameter))),
    size('tip dome radius', settled.tipRadius, cue, typeof tipRadius === 'string' ? tipRadius : words(tipRadius)),
    size('shaft radius', settled.shaftRadius, cue, words(gear.cue?.content.shaftRadius)),
    ...(settled.cueMass === null || cue === null
      ? []
      : [
          {
            name: 'cue mass',
            sent: words(gear.cue?.content.mass),
            value: settled.cueMass,
            unit: 'kg',
            standardUncertainty: assumedGiven.cueMass,
            from: cue,
          },
        ]),
    ...ofShot(shot, settled),
  ];
}

function half(diameter: string | null): string | null {
  return diameter === null ? null : `diameter ${diameter}`;
}

function ofShot(shot: Shot, settled: SettledGear): DerivationInput[] {
  const { context } = settled;
  const given = (
    name: string,
    quantity: QuantityName,
    measure: Measure | undefined,
    standardUncertainty: number | null = null,
  ): DerivationInput[] =>
    measure === undefined
      ? []
      : [
          {
            name,
            sent: words(measure),
            value: convertOptional(measure, quantity, context),
            unit: quantities[quantity].siUnit,
            standardUncertainty,
            from: 'shot',
          },
        ];
  const elevation = shot.elevation;
  const reading = shot.tipHeight;
  const heights: [string, Measure | undefined][] =
    reading === undefined
      ? []
      : reading.method === 'contactMark'
        ? [['height of the contact mark', reading.height]]
        : reading.method === 'ring'
          ? [['height between rings', reading.ringStep]]
          : [
              ['top edge of the shaft', reading.topEdge],
              ...(reading.method === 'shaftEdges'
                ? ([['bottom edge of the shaft', reading.bottomEdge]] as [string, Measure][])
                : []),
            ];
  const stated = reading === undefined ? null : convertOptional(reading.standardUncertainty, 'heightReading', context);
  return [
    elevation === undefined
      ? {
          name: 'elevation of the cue',
          sent: null,
          value: 0,
          unit: 'rad',
          standardUncertainty: assumedElevationUncertainty,
          from: 'assumed',
        }
      : {
          name: 'elevation of the cue',
          sent: words(elevation),
          value: convertOptional(elevation, 'elevation', context),
          unit: 'rad',
          standardUncertainty: givenUncertainties.elevation,
          from: 'shot',
        },
    ...heights.flatMap(([name, measure]) =>
      given(name, 'heightReading', measure, Math.abs(stated ?? settled.heightUncertainty)),
    ),
    ...placeOfReading(reading, context),
    ...given('object-ball distance', 'objectBallDistance', shot.objectBallDistance, assumedGiven.objectBallDistance),
    ...given('outcome distance', 'outcomeDistance', shot.outcome?.distance, outcomeUncertainty(shot, context)),
    ...given('ball speed', 'ballSpeed', shot.ballSpeed, ballSpeedUncertainty(shot, context)),
  ];
}

function outcomeUncertainty(shot: Shot, context: SettledGear['context']): number {
  const stated = convertOptional(shot.outcome?.standardUncertainty, 'outcomeDistance', context);
  return Math.abs(stated ?? assumedOutcomeUncertainty);
}

function ballSpeedUncertainty(shot: Shot, context: SettledGear['context']): number | null {
  const speed = convertOptional(shot.ballSpeed, 'ballSpeed', context);
  return speed === null ? null : Math.abs(speed) * assumedBallSpeedUncertainty;
}

/** Where the shaft was read; of no account to a mark or a contact. */
function placeOfReading(reading: Shot['tipHeight'], context: SettledGear['context']): DerivationInput[] {
  if (reading === undefined || reading.method === 'contactMark') return [];
  if (reading.method === 'ring' && reading.edge === 'contact') return [];
  const value = convertOptional(reading.station, 'heightReading', context);
  return [
    {
      name: 'place of reading',
      sent: words(reading.station),
      value: value ?? assumedStation.value,
      unit: 'm',
      standardUncertainty: value === null ? assumedStation.standardUncertainty : givenUncertainties.station,
      from: value === null ? 'assumed' : 'shot',
    },
  ];
}
