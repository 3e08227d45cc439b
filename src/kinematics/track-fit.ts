/** What goes into the fit of a cue track, and what comes out of it. */
import type { OrderDiagnosis } from './order-diagnosis.ts';

export interface TrackFitInput {
  /** s relative to first contact, <= 0, strictly increasing. */
  readonly times: Float64Array;
  /** m, positive towards the ball. */
  readonly positions: Float64Array;
  /** Fixed order 1..5, or null to weigh orders 2, 3 and 4. */
  readonly order: number | null;
  /** s; 0.04 is the default of a rig. */
  readonly window: number;
  /**
   * Standard uncertainty of the zero of `times`, s. When first contact is only known to lie between two frames, put the
   * zero midway between them and give frame interval / sqrt(12): it is taken as rectangular unless said otherwise.
   */
  readonly firstContactUncertainty: number;
  /** `normal` when first contact was extrapolated from the gap of tip and ball. */
  readonly firstContactShape?: 'rectangular' | 'normal';
  /** Whether outlying points are left out of the fit (the default) or only reported. */
  readonly outlyingPoints?: 'leaveOut' | 'report';
}

/** What a 95 % interval is made of, so that further errors can be added before it is drawn (see `interval95`). */
export interface IntervalParts {
  /** Middle of the interval. */
  readonly centre: number;
  /** Standard deviation of the normal part; already widened so that 1.96 times it covers 95 % for Student's t. */
  readonly normal: number;
  /** Half-width of the rectangular part, from the uncertain instant of contact and what window and order change. */
  readonly rectangular: number;
}

export interface OrderCandidate {
  readonly order: number;
  readonly points: number;
  readonly cueSpeed: number;
  readonly cueSpeedUncertainty: number;
  readonly cueAcceleration: number | null;
  readonly cueAccelerationUncertainty: number | null;
  readonly residualStandardDeviation: number;
  readonly aicc: number;
  readonly weight: number;
}

/** Speed and acceleration by another window and order, from the same track. */
export interface SensitivityRow {
  /** s. */
  readonly window: number;
  readonly points: number;
  readonly order: number;
  readonly cueSpeed: number;
  readonly cueAcceleration: number;
}

export interface TrackFit {
  readonly ok: true;
  /** m/s. */
  readonly speed: number;
  readonly speedUncertainty: number;
  readonly speedInterval: IntervalParts;
  /** m/s2; null at order 1. */
  readonly acceleration: number | null;
  readonly accelerationUncertainty: number | null;
  readonly accelerationInterval: IntervalParts | null;
  /** Of speed and acceleration, m2/s3; null at order 1. */
  readonly covariance: number | null;
  /** Change of acceleration at first contact, m/s3; 0 at orders 1 and 2. */
  readonly jerk: number;
  /** Of the order that gives the intervals; fewer under serial correlation. */
  readonly degreesOfFreedom: number;
  /** Student's t of 0.975 at those degrees of freedom. */
  readonly coverageFactor: number;
  /** From the first point used to first contact, s. */
  readonly window: number;
  /** Points used; outlying ones that were left out are not counted. */
  readonly points: number;
  /** Order with the largest weight. */
  readonly order: number;
  readonly residualStandardDeviation: number;
  readonly lagOneCorrelation: number;
  readonly durbinWatson: number;
  /** Estimated first-order autoregression of the noise. */
  readonly autoregression: number;
  /** Whether the correlation of neighbouring residuals is significant. */
  readonly seriallyCorrelated: boolean;
  readonly uncertaintyInflation: number;
  /**
   * Whether the track itself can show that the intervals hold: enough points to see correlated noise, and no fixed order
   * below the highest candidate, beside which a higher term may go unseen.
   */
  readonly intervalsAssured: boolean;
  /** Indices into the given arrays, increasing. */
  readonly outlyingIndices: readonly number[];
  readonly candidates: readonly OrderCandidate[];
  /** Orders 1 to 5 side by side (fewer with too few points). */
  readonly orders: readonly OrderDiagnosis[];
  /** Orders 2 to 4 at three quarters, all and five quarters of the window, as far as the track reaches. */
  readonly sensitivity: readonly SensitivityRow[];
  /** What window and order change beyond noise; part of the uncertainties above. */
  readonly model: {
    readonly exceedsNoise: boolean;
    readonly speedUncertainty: number;
    readonly accelerationUncertainty: number;
  };
  /** Window that would resolve the acceleration, s; null when it is resolved or none would. */
  readonly resolvingWindow: number | null;
}

export type TrackFitResult = TrackFit | { readonly ok: false; readonly reason: 'tooFewPoints' | 'motionless' };
