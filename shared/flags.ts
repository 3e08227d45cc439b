/** Everything the service may remark about an accepted shot. A flag never rejects; some leave a shot out of pooling. */

export interface FlagDefinition {
  readonly meaning: string;
  /** True when pooling and matching leave the shot out unless the filter names the flag. */
  readonly leftOut: boolean;
}

/** The position of a flag in this table is its bit in the hot table and in columns: append, never reorder; at most 31. */
export const flags = {
  miscue: { meaning: 'The lab marked the shot as a miscue.', leftOut: true },
  doubleHit: { meaning: 'The lab marked a double hit.', leftOut: true },
  push: { meaning: 'The lab marked a push: tip and ball stayed together.', leftOut: true },
  airborne: { meaning: 'The cue ball left the cloth.', leftOut: true },
  cushionBeforeOutcome: {
    meaning: 'The cue ball touched a cushion before its outcome was read.',
    leftOut: true,
  },
  notStraight: { meaning: 'The object ball was not hit full.', leftOut: true },
  tipSizeAssumed: {
    meaning:
      'Tip dome radius or shaft radius was not given; the default of the discipline is used with a wide uncertainty, common to the cue.',
    leftOut: false,
  },
  ballSizeAssumed: {
    meaning: 'Ball diameter was not given; the default of the discipline is used.',
    leftOut: false,
  },
  cueSpeedUnusual: { meaning: 'Cue speed is outside the usual range.', leftOut: false },
  cueAccelerationUnusual: { meaning: 'Cue acceleration is outside the usual range.', leftOut: false },
  contactTimeUnusual: { meaning: 'Contact time is outside the usual range.', leftOut: false },
  contactNotResolved: {
    meaning: 'Too few contact frames to give a contact time at this capture rate.',
    leftOut: false,
  },
  fewContactFrames: { meaning: 'Fewer than four contact frames: contact time is coarse.', leftOut: false },
  accelerationNotResolved: {
    meaning:
      'The acceleration is smaller than twice its standard uncertainty, or its 95 % interval reaches zero: its sign is not settled.',
    leftOut: false,
  },
  outlyingFrames: {
    meaning: 'Frames that stray from the track beyond chance (tracker jumps) were left out of the fit and are listed.',
    leftOut: false,
  },
  orderAmbiguous: {
    meaning: 'Two fit orders describe the track about equally well but give different accelerations.',
    leftOut: false,
  },
  fewTrackPoints: { meaning: 'Fewer than 15 track points before contact.', leftOut: false },
  serialCorrelation: {
    meaning: 'Residuals of the track fit follow one another; the uncertainty was widened.',
    leftOut: false,
  },
  reportedDiffers: {
    meaning:
      'A value the lab reported differs from the recomputed one by more than three combined standard uncertainties.',
    leftOut: false,
  },
  trackFrozen: {
    meaning:
      'The track repeats one position for several frames, or from one frame to the next again and again, while the cue moves: a frozen tracker or doubled frames.',
    leftOut: false,
  },
  miscueRisk: { meaning: 'The tip offset is beyond half the ball radius: a miscue is likely.', leftOut: false },
  tipClearance: {
    meaning: 'A level cue at this offset would touch the cloth: check the tip height or give the elevation.',
    leftOut: false,
  },
  outcomeCensored: {
    meaning: 'The outcome distance is a bound, not a value: the ball did not come to rest by itself.',
    leftOut: false,
  },
  trimMeaningUnknown: {
    meaning: 'Frames were trimmed without saying what the trimming means; contact time covers both readings.',
    leftOut: false,
  },
  elevationAssumed: {
    meaning:
      'Cue elevation was not given; the cue is taken as level and the tip offset carries the spread of strokes called level.',
    leftOut: false,
  },
  restitutionUnusual: {
    meaning:
      'Cue-ball speed over cue speed means a restitution of tip and ball outside 0.6 to 0.9 by more than three combined standard uncertainties: check speeds and masses.',
    leftOut: false,
  },
  fitSensitive: {
    meaning:
      'Window or order of the fit change speed or acceleration by more than noise explains: the polynomial does not follow the stroke. The change is part of the uncertainty.',
    leftOut: false,
  },
  firstContactDiffers: {
    meaning:
      'First contact found in the track differs from the declared frame by more than three combined standard uncertainties and at least one frame.',
    leftOut: false,
  },
  intervalNotAssured: {
    meaning:
      'The track cannot show whether the 95 % intervals of speed and acceleration hold: too few points for each coefficient to tell correlated from independent noise, or an order fixed below 4, beside which a higher term may go unseen.',
    leftOut: false,
  },
  ballPhaseShort: {
    meaning:
      'Between two blows the ball track shows only sliding or only rolling, or one of them for too short a time: what goes unseen beside it may put the numbers of the ball track off by more than their intervals.',
    leftOut: false,
  },
} as const satisfies Record<string, FlagDefinition>;

export type FlagName = keyof typeof flags;
export const flagNames = Object.keys(flags) as readonly FlagName[];

/** Flag names as a bit mask; bit k is the k-th flag of the table. */
export function flagMask(names: Iterable<FlagName>): number {
  let mask = 0;
  for (const name of names) mask |= 1 << flagNames.indexOf(name);
  return mask;
}

/** Flag names of a bit mask, in table order. */
export function flagsOfMask(mask: number): FlagName[] {
  return flagNames.filter((_, bit) => ((mask >> bit) & 1) === 1);
}

/** Mask of the flags that leave a shot out of pooling unless the filter names them. */
export const leftOutMask = flagMask(flagNames.filter((name) => flags[name].leftOut));
