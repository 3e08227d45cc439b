/**
 * The data dictionary: every quantity the service knows, once. It drives validation, CSV headers,
 * OpenAPI descriptions, axis labels and the codebook of a release.
 *
 * Hard limits are impossible values (rejected); usual limits are unusual ones (accepted and flagged).
 * Limits for pool, snooker and carom gear follow the governing bodies' equipment specifications where one
 * exists; the others are common practice without a source.
 */

export const dimensions = [
  'length',
  'time',
  'speed',
  'acceleration',
  'mass',
  'angle',
  'rate',
  'one',
  'scale',
  'count',
] as const;
export type Dimension = (typeof dimensions)[number];

export interface Limits {
  readonly min: number;
  readonly max: number;
}

export interface QuantityDefinition {
  readonly name: string;
  readonly label: string;
  /** What it is, with its sign convention, in one or two sentences. */
  readonly description: string;
  readonly symbol: string;
  readonly dimension: Dimension;
  /** UCUM code of the SI unit used on the wire in results; '1' for a pure number. */
  readonly siUnit: string;
  /** Unit and factor for axis labels and reports: display value = SI value * factor. */
  readonly display: { readonly unit: string; readonly factor: number };
  readonly hard: Limits;
  readonly usual: Limits;
  /** True when the quantity may be used as a variable of a regression or comparison. */
  readonly variable: boolean;
}

const metre = { unit: 'm', factor: 1 };
const millimetre = { unit: 'mm', factor: 1000 };
const centimetre = { unit: 'cm', factor: 100 };
const millisecond = { unit: 'ms', factor: 1000 };

export const quantities = {
  cueSpeed: {
    name: 'cueSpeed',
    label: 'cue speed at impact',
    description: 'Speed of the cue along its axis just before first contact, from the track before it.',
    symbol: 'V',
    dimension: 'speed',
    siUnit: 'm/s',
    display: { unit: 'm/s', factor: 1 },
    hard: { min: 0.02, max: 20 },
    usual: { min: 0.2, max: 8 },
    variable: true,
  },
  cueAcceleration: {
    name: 'cueAcceleration',
    label: 'cue acceleration at impact',
    description:
      'Acceleration of the cue along its axis just before first contact, from the track before it; negative when the cue is slowing.',
    symbol: 'a',
    dimension: 'acceleration',
    siUnit: 'm/s2',
    display: { unit: 'm/s2', factor: 1 },
    hard: { min: -1000, max: 1000 },
    usual: { min: -50, max: 100 },
    variable: true,
  },
  contactTime: {
    name: 'contactTime',
    label: 'contact time',
    description: 'Time for which tip and ball touch, under the common convention of the service.',
    symbol: 'T',
    dimension: 'time',
    siUnit: 's',
    display: millisecond,
    hard: { min: 1e-4, max: 2e-2 },
    usual: { min: 5e-4, max: 3e-3 },
    variable: true,
  },
  countedContactTime: {
    name: 'countedContactTime',
    label: 'counted contact time',
    description: "Contact frames after the lab's own trimming, divided by the capture rate.",
    symbol: 'T_count',
    dimension: 'time',
    siUnit: 's',
    display: millisecond,
    hard: { min: 0, max: 2e-2 },
    usual: { min: 5e-4, max: 3e-3 },
    variable: true,
  },
  tipOffset: {
    name: 'tipOffset',
    label: 'tip offset',
    description:
      'Lever arm of the impulse above (+) or below (-) the ball centre over the ball radius, b/R. Negative is draw.',
    symbol: 'b/R',
    dimension: 'one',
    siUnit: '1',
    display: { unit: 'R', factor: 1 },
    hard: { min: -1, max: 1 },
    usual: { min: -0.5, max: 0.5 },
    variable: true,
  },
  tipHeight: {
    name: 'tipHeight',
    label: 'tip height',
    description: 'Height of the contact point above (+) or below (-) the ball centre.',
    symbol: 'h',
    dimension: 'length',
    siUnit: 'm',
    display: millimetre,
    hard: { min: -0.0375, max: 0.0375 },
    usual: { min: -0.0165, max: 0.0165 },
    variable: true,
  },
  objectBallDistance: {
    name: 'objectBallDistance',
    label: 'object-ball distance',
    description: 'Travel of the cue-ball centre to contact with the object ball: the gap between the two surfaces.',
    symbol: 'd',
    dimension: 'length',
    siUnit: 'm',
    display: metre,
    hard: { min: 0, max: 4.1 },
    usual: { min: 0.1, max: 2 },
    variable: true,
  },
  outcomeDistance: {
    name: 'outcomeDistance',
    label: 'outcome distance',
    description:
      'Signed distance along the shot line from the place of the cue ball at the ball-ball impact to where it ended: negative draw, positive follow.',
    symbol: 'D',
    dimension: 'length',
    siUnit: 'm',
    display: centimetre,
    hard: { min: -4.1, max: 4.1 },
    usual: { min: -2.5, max: 2.5 },
    variable: true,
  },
  ballSpeed: {
    name: 'ballSpeed',
    label: 'cue-ball speed off the tip',
    description: 'Speed of the cue ball just after it leaves the tip, when the lab measured it.',
    symbol: 'v',
    dimension: 'speed',
    siUnit: 'm/s',
    display: { unit: 'm/s', factor: 1 },
    hard: { min: 0.01, max: 20 },
    usual: { min: 0.2, max: 12 },
    variable: true,
  },
  cueMass: {
    name: 'cueMass',
    label: 'cue mass',
    description: 'Mass of the whole cue.',
    symbol: 'M',
    dimension: 'mass',
    siUnit: 'kg',
    display: { unit: 'g', factor: 1000 },
    hard: { min: 0.05, max: 1.5 },
    usual: { min: 0.4, max: 0.65 },
    variable: true,
  },
  elevation: {
    name: 'elevation',
    label: 'cue elevation',
    description: 'Angle of the cue axis to the table, positive with the butt up.',
    symbol: 'theta',
    dimension: 'angle',
    siUnit: 'rad',
    display: { unit: 'deg', factor: 57.29577951308232 },
    hard: { min: -0.08726646259971647, max: 1.5707963267948966 },
    usual: { min: 0, max: 0.08726646259971647 },
    variable: true,
  },
  outcomeResidual: {
    name: 'outcomeResidual',
    label: 'outcome residual',
    description:
      'Measured outcome distance minus the one that mechanics expects from cue speed and tip offset with one restitution at every offset; only where the lab calibrated its table.',
    symbol: 'D - D_e',
    dimension: 'length',
    siUnit: 'm',
    display: metre,
    hard: { min: -20, max: 20 },
    usual: { min: -1, max: 1 },
    variable: true,
  },
  outcomeClass: {
    name: 'outcomeClass',
    label: 'outcome class',
    description:
      'What became of the cue ball: -1 draw, 0 stop (within half a pool ball, 28.6 mm, of the place of the impact), +1 follow. Known also where a rail, pocket or hand ended the outcome beyond that band.',
    symbol: 'class',
    dimension: 'one',
    siUnit: '1',
    display: { unit: '1', factor: 1 },
    hard: { min: -1, max: 1 },
    usual: { min: -1, max: 1 },
    variable: true,
  },
  earlyOutcomeDistance: {
    name: 'earlyOutcomeDistance',
    label: 'outcome distance after half a second',
    description:
      'Signed distance along the shot line half a second after the ball-ball impact, from the ball track: before rails interfere.',
    symbol: 'D_0.5',
    dimension: 'length',
    siUnit: 'm',
    display: centimetre,
    hard: { min: -4.1, max: 4.1 },
    usual: { min: -1.5, max: 1.5 },
    variable: true,
  },
  cutAngle: {
    name: 'cutAngle',
    label: 'cut angle',
    description: 'Angle between the shot line and the line of centres at the ball-ball impact; 0 is a full hit.',
    symbol: 'gamma',
    dimension: 'angle',
    siUnit: 'rad',
    display: { unit: 'deg', factor: 57.29577951308232 },
    hard: { min: 0, max: 1.5707963267948966 },
    usual: { min: 0, max: 0.03490658503988659 },
    variable: false,
  },
  captureRate: {
    name: 'captureRate',
    label: 'capture rate',
    description: 'Frames recorded per second. Never the rate at which the file plays.',
    symbol: 'f',
    dimension: 'rate',
    siUnit: '1/s',
    display: { unit: 'frames/s', factor: 1 },
    hard: { min: 1, max: 1e6 },
    usual: { min: 1000, max: 1e5 },
    variable: false,
  },
  playbackRate: {
    name: 'playbackRate',
    label: 'playback rate',
    description: 'Frames per second at which the file plays. Kept for provenance and for recognising a mix-up.',
    symbol: 'f_play',
    dimension: 'rate',
    siUnit: '1/s',
    display: { unit: 'frames/s', factor: 1 },
    hard: { min: 1, max: 1e6 },
    usual: { min: 23, max: 240 },
    variable: false,
  },
  exposure: {
    name: 'exposure',
    label: 'exposure',
    description: 'Time for which each frame is exposed; at most one frame interval.',
    symbol: 't_e',
    dimension: 'time',
    siUnit: 's',
    display: { unit: 'us', factor: 1e6 },
    hard: { min: 1e-7, max: 1 },
    usual: { min: 1e-6, max: 5e-4 },
    variable: false,
  },
  scale: {
    name: 'scale',
    label: 'scale',
    description: 'Length in the plane of the cue that one pixel covers.',
    symbol: 'm/px',
    dimension: 'scale',
    siUnit: 'm/px',
    display: { unit: 'mm/px', factor: 1000 },
    hard: { min: 1e-6, max: 1e-2 },
    usual: { min: 2e-5, max: 2e-3 },
    variable: false,
  },
  cuePosition: {
    name: 'cuePosition',
    label: 'cue position',
    description:
      'Position of a mark on the cue along the stroke axis; any origin, positive towards the ball unless the rig says otherwise.',
    symbol: 'x',
    dimension: 'length',
    siUnit: 'm',
    display: millimetre,
    hard: { min: -1e7, max: 1e7 },
    usual: { min: -10, max: 10 },
    variable: false,
  },
  trackTime: {
    name: 'trackTime',
    label: 'time of a track point',
    description: 'Time of a frame; must agree with frame number over capture rate.',
    symbol: 't',
    dimension: 'time',
    siUnit: 's',
    display: millisecond,
    hard: { min: -1e7, max: 1e7 },
    usual: { min: -1000, max: 1000 },
    variable: false,
  },
  ballDiameter: {
    name: 'ballDiameter',
    label: 'ball diameter',
    description: 'Diameter of the cue ball.',
    symbol: '2R',
    dimension: 'length',
    siUnit: 'm',
    display: millimetre,
    hard: { min: 0.04, max: 0.075 },
    usual: { min: 0.0475, max: 0.0615 },
    variable: false,
  },
  ballMass: {
    name: 'ballMass',
    label: 'ball mass',
    description: 'Mass of the cue ball.',
    symbol: 'm',
    dimension: 'mass',
    siUnit: 'kg',
    display: { unit: 'g', factor: 1000 },
    hard: { min: 0.05, max: 0.35 },
    usual: { min: 0.09, max: 0.22 },
    variable: false,
  },
  cueLength: {
    name: 'cueLength',
    label: 'cue length',
    description: 'Length of the whole cue.',
    symbol: 'L',
    dimension: 'length',
    siUnit: 'm',
    display: metre,
    hard: { min: 0.5, max: 3 },
    usual: { min: 1.3, max: 1.6 },
    variable: false,
  },
  tipDiameter: {
    name: 'tipDiameter',
    label: 'tip diameter',
    description: 'Diameter of the tip where it meets the ferrule.',
    symbol: '2 r_tip',
    dimension: 'length',
    siUnit: 'm',
    display: millimetre,
    hard: { min: 0.004, max: 0.02 },
    usual: { min: 0.0085, max: 0.014 },
    variable: false,
  },
  tipRadius: {
    name: 'tipRadius',
    label: 'tip dome radius',
    description: 'Radius of the sphere that the tip is shaped to.',
    symbol: 'rho',
    dimension: 'length',
    siUnit: 'm',
    display: millimetre,
    hard: { min: 0.002, max: 0.1 },
    usual: { min: 0.008, max: 0.013 },
    variable: false,
  },
  shaftRadius: {
    name: 'shaftRadius',
    label: 'shaft radius',
    description: 'Radius of the shaft at the station where its edge is read.',
    symbol: 'r_s',
    dimension: 'length',
    siUnit: 'm',
    display: millimetre,
    hard: { min: 0.002, max: 0.012 },
    usual: { min: 0.0045, max: 0.007 },
    variable: false,
  },
  tableLength: {
    name: 'tableLength',
    label: 'table length',
    description: 'Length of the playing surface.',
    symbol: 'L_t',
    dimension: 'length',
    siUnit: 'm',
    display: metre,
    hard: { min: 1, max: 4 },
    usual: { min: 1.8, max: 3.6 },
    variable: false,
  },
  heightReading: {
    name: 'heightReading',
    label: 'height reading',
    description: "A height read in the film by the lab's tip-height convention.",
    symbol: 'z',
    dimension: 'length',
    siUnit: 'm',
    display: millimetre,
    hard: { min: -0.2, max: 0.2 },
    usual: { min: -0.06, max: 0.12 },
    variable: false,
  },
} as const satisfies Record<string, QuantityDefinition>;

export type QuantityName = keyof typeof quantities;

/** The variables that a regression or comparison may use, in dictionary order. */
export const variableNames = [
  'cueSpeed',
  'cueAcceleration',
  'contactTime',
  'countedContactTime',
  'tipOffset',
  'tipHeight',
  'objectBallDistance',
  'outcomeDistance',
  'ballSpeed',
  'cueMass',
  'elevation',
  'outcomeResidual',
  'outcomeClass',
  'earlyOutcomeDistance',
] as const satisfies readonly QuantityName[];
export type VariableName = (typeof variableNames)[number];

/** The groupings that a contrast, an exact match or a filter may use. */
export const groupingNames = [
  'lab',
  'rig',
  'cue',
  'table',
  'setUp',
  'player',
  'strokeStyle',
  'grip',
  'sessionDate',
] as const;
export type GroupingName = (typeof groupingNames)[number];
