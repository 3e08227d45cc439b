/** Units, contact time, tip offset, outcome, the lab's own values and limits, step by step. */
import type { DerivedShot } from '../../../shared/derivation.ts';
import type { DerivationStep } from '../../../shared/explanation.ts';
import { quantities } from '../../../shared/quantities.ts';
import type { Shot } from '../../../shared/shot.ts';
import { domeLimit, levelCueClearance, miscueLimit } from '../../physics/tip-limits.ts';
import { countContact } from '../count-contact.ts';
import { miscueOffset } from '../derive-flags.ts';
import type { SettledGear } from '../settle-gear.ts';
import { number, step } from './step.ts';
import { contributions, estimateNumbers } from './stroke-steps.ts';

export function unitStep(gear: SettledGear): DerivationStep {
  return step(
    'units-and-gear',
    'Units and gear',
    'Everything sent was turned into SI with the gear versions that the shot names; sizes that were not given are assumed for the discipline.',
    [
      number('capture rate', gear.captureRate, '1/s'),
      number('discipline', gear.discipline, null),
      number('ball radius', gear.ballRadius.value, 'm'),
    ],
  );
}

const criterionWords = {
  anyPartOfExposure: 'a frame counts when tip and ball touch in any part of its exposure: the exposure is taken off',
  wholeExposure: 'a frame counts when tip and ball touch in the whole of its exposure: the exposure is added',
  unknown: 'which part of the exposure counts is not known: its length widens the uncertainty',
} as const;

export function contactSteps(shot: Shot, gear: SettledGear, derived: DerivedShot): DerivationStep[] {
  const counted = countContact(shot.contact);
  if (counted === null) return [];
  const { contactTime, contactTimeBounds: bounds, countedContactTime } = derived;
  const { frames, trimmedStart, trimmedEnd, trimmed } = counted;
  const exposure = gear.exposure === null ? '' : `; ${criterionWords[gear.rig.exposureCriterion]}`;
  const cut =
    trimmedStart + trimmedEnd === 0
      ? ''
      : `, ${trimmedStart} and ${trimmedEnd} of them trimmed at start and end (${gear.rig.trimMeaning})`;
  const outcome =
    contactTime === null ? ' Too few certain contact frames for a contact time: only bounds are given.' : '';
  return [
    step(
      'contact-time',
      'Contact time',
      `${frames} frames look closed${cut}${exposure}.${outcome}`,
      [
        number('certain contact frames', trimmed, 'frame'),
        number('frame interval', 1 / gear.captureRate, 's'),
        ...(gear.exposure === null ? [] : [number('exposure', gear.exposure, 's')]),
        ...estimateNumbers('contact time', contactTime, 's'),
        number('least possible', bounds?.least ?? null, 's'),
        number('most possible', bounds?.most ?? null, 's'),
        number("the lab's own count", countedContactTime, 's'),
        ...contributions(derived, 'contactTime', 's', ['shot', 'rig']),
        ...derived.contactTimeReadings.filter(({ used }) => !used).flatMap((each) => otherReading(each, contactTime)),
      ],
      'correction: T = N dt, u = dt/sqrt(6); undecided: T = (N + (m_s + m_e)/2) dt, u = dt sqrt(((m_s+1)^2 + (m_e+1)^2)/12)',
    ),
  ];
}

/** What the same count would give under another convention, and how far that is from what it gives. */
function otherReading(reading: DerivedShot['contactTimeReadings'][number], used: DerivedShot['contactTime']) {
  const { trimMeaning, exposureCriterion, value, standardUncertainty } = reading;
  const name = `if trims were ${trimMeaning} and the exposure criterion ${exposureCriterion}`;
  return [
    number(name, value, 's'),
    number(`${name}: standard uncertainty`, standardUncertainty, 's'),
    ...(used === null ? [] : [number(`${name}: change`, value - used.value, 's')]),
  ];
}

const readingWords = {
  shaftTopEdge:
    'From the top edge of the shaft, its radius and its place of reading to the cue axis, from there to the contact of two spheres.',
  shaftEdges: 'From both edges of the shaft, whose mean is the cue axis, to the contact of two spheres.',
  contactMark: 'From the height of the mark on the ball to the lever arm of the impulse.',
  ring: 'From the numbered ring, its step and its side to the height of the contact, and on to the lever arm of the impulse.',
} as const;

/** Friction of a chalked tip on the ball (from memory). */
const chalkedTip = 0.6;

export function tipSteps(shot: Shot, gear: SettledGear, derived: DerivedShot): DerivationStep[] {
  if (shot.tipHeight === undefined) return [];
  const { method } = shot.tipHeight;
  const fromAxis = method === 'shaftTopEdge' || method === 'shaftEdges';
  return [
    step(
      'tip-offset',
      'Tip offset and tip height',
      readingWords[method],
      [
        ...estimateNumbers('tip offset', derived.tipOffset, '1'),
        ...estimateNumbers('tip height', derived.tipHeight, 'm'),
        ...contributions(derived, 'tipOffset', '1', ['shot', 'rig', 'cue', 'table']),
        ...tipLimits(gear),
      ],
      fromAxis
        ? 'c = (z + x tan th) cos th - r_s; b/R = c/(R + rho); h = R/(R + rho) (c cos th + sin th sqrt((R + rho)^2 - c^2))'
        : 'b = h cos th - sqrt(R^2 - h^2) sin th',
    ),
  ];
}

/** How far from the centre a stroke can be, as b/R. */
function tipLimits({ ballRadius, tipBaseRadius, tipRadius }: SettledGear) {
  const tipDiameter = 2 * tipBaseRadius.value;
  return [
    number('limit: the contact stays on the dome of the tip', domeLimit(tipDiameter, tipRadius.value), '1'),
    number(
      'limit: a level cue clears the cloth',
      levelCueClearance(ballRadius.value, tipDiameter, tipRadius.value),
      '1',
    ),
    number(`limit: a tip of friction ${chalkedTip} (chalked, from memory) does not slip`, miscueLimit(chalkedTip), '1'),
    number('limit: a miscue is flagged as likely beyond (common practice)', miscueOffset, '1'),
  ];
}

export function outcomeSteps(shot: Shot, derived: DerivedShot): DerivationStep[] {
  const { outcomeDistance, outcomeBound, ended } = derived;
  if (shot.outcome === undefined && ended === null) return [];
  const done =
    outcomeBound === null
      ? 'The ball came to rest by itself: the distance is a value.'
      : `The ball did not come to rest by itself (${ended}): the distance reached is a bound and enters no analysis.`;
  return [
    step('outcome', 'Outcome distance', done, [
      ...estimateNumbers('outcome distance', outcomeDistance, 'm'),
      ...contributions(derived, 'outcomeDistance', 'm', ['shot', 'rig', 'table']),
      ...(outcomeBound === null ? [] : [number('bound', outcomeBound, 'm')]),
    ]),
  ];
}

export function reportedSteps(derived: DerivedShot): DerivationStep[] {
  if (derived.source === 'reported') {
    const done =
      "No track was sent: the lab's own values stand in, with assumed uncertainties, and are marked as such.";
    return [
      step('reported-values', "The lab's own values", done, [
        ...estimateNumbers('cue speed', derived.cueSpeed, 'm/s'),
        ...estimateNumbers('cue acceleration', derived.cueAcceleration, 'm/s2'),
      ]),
    ];
  }
  if (derived.compared.length === 0) return [];
  return [
    step(
      'reported-values',
      "The lab's own values",
      "The lab's own values were compared with the recomputed ones; they replace none.",
      derived.compared.flatMap(({ quantity, reported, recomputed, combinedUncertainty }) => {
        const unit = quantities[quantity].siUnit;
        return [
          number(`${quantity}: reported`, reported, unit),
          number(`${quantity}: recomputed`, recomputed, unit),
          number(
            `${quantity}: difference in combined standard uncertainties`,
            share(reported - recomputed, combinedUncertainty),
            '1',
          ),
        ];
      }),
    ),
  ];
}

/** Null when the uncertainty is zero. */
function share(difference: number, uncertainty: number): number | null {
  return uncertainty > 0 ? difference / uncertainty : null;
}

const reasonWords: Readonly<Record<DerivedShot['reasons'][string], string>> = {
  notSent: 'nothing was sent for it',
  notResolved: 'the film does not resolve it',
  orderOneHasNoAcceleration: 'a fit of order 1 has no acceleration',
  needsCue: 'the shot names no cue with it',
  needsTable: 'its unit needs the table',
  censored: 'the outcome is a bound',
};

export function limitStep(derived: DerivedShot): DerivationStep {
  return step(
    'limits',
    'Limits and what is missing',
    'Results were held against the possible and the usual ranges of the dictionary. A result that is missing has its reason.',
    Object.entries(derived.reasons).map(([name, reason]) => number(name, reasonWords[reason], null)),
  );
}
