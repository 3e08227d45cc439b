/**
 * What the method versions do differently. There is one derivation; where versions part, it asks the choices of the
 * version it works under, so that an old version keeps every bit while the new one grows beside it.
 */

export interface MethodChoices {
  /** Name of the version, written into what it derives. */
  readonly version: string;
  /** Raise intervalNotAssured and ballPhaseShort where a track cannot show that its intervals hold. */
  readonly flagsUnassuredIntervals: boolean;
  /** Raise trackFrozen also where frames repeat the one before again and again. */
  readonly flagsRepeatedFrames: boolean;
  /**
   * Every derived number has its budget: restitution, effective cue mass, expected outcome and residual too, from the
   * budgets of what they rest on.
   */
  readonly completeBudgets: boolean;
  /** Friction in a full hit changes the spin of each ball by its own mass. */
  readonly spinByMasses: boolean;
  /** The interval of repeated counts has the effective degrees of freedom of counting and judgement together. */
  readonly effectiveDegreesOfCounts: boolean;
}

/** The first published version: every choice as it was. */
export const methodOne: MethodChoices = {
  version: '1',
  flagsUnassuredIntervals: false,
  flagsRepeatedFrames: false,
  completeBudgets: false,
  spinByMasses: false,
  effectiveDegreesOfCounts: false,
};

export const methodTwo: MethodChoices = {
  version: '2',
  flagsUnassuredIntervals: true,
  flagsRepeatedFrames: true,
  completeBudgets: true,
  spinByMasses: true,
  effectiveDegreesOfCounts: true,
};

/** What `deriveShot` works under unless told otherwise: the newest published version. */
export const newestChoices: MethodChoices = methodTwo;
