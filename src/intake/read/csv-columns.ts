/** The columns of a CSV of shots. The reader, the template and the description of the table are made from this one list. */
import { endings, labFlagNames } from '../../../shared/shot.ts';
import { type ColumnTable, measured, plain } from './column-definition.ts';

const instead = { inTemplate: false } as const;

const identity: ColumnTable = {
  label: plain('text', 'label', '2026-03-02/002', "The lab's own label of the shot, unique within the lab.", {
    required: true,
  }),
  rig: plain('text', 'rig', 'side-view', 'Rig, or rig@version; without a version the newest.', { required: true }),
  cue: plain('text', 'cue', 'house', 'Cue, or cue@version.', instead),
  table: plain('text', 'table', 'club', 'Table, or table@version.', instead),
  player: plain('text', 'player', 'P1', 'Code of the player; never a name.'),
  observer: plain('text', 'observer', 'O1', 'Code of who read the film; never a name.'),
  session_date: plain('text', 'sessionDate', '2026-03-02', 'Calendar date, YYYY-MM-DD.'),
  stroke_style: plain('text', 'strokeStyle', 'long', "The lab's code of the stroke style."),
  grip: plain('text', 'grip', 'loose', "The lab's code of the grip."),
  straight: plain('boolean', 'straight', 'true', 'true when the object ball is hit full; true when empty.'),
  object_ball_distance: measured(
    'objectBallDistance',
    'objectBallDistance',
    'm',
    '0.8',
    'Travel of the cue ball to the object ball: the gap between the two.',
  ),
  elevation: measured('elevation', 'elevation', 'deg', '1.5', 'Elevation of the cue, butt up positive.'),
  cut_angle: measured('cutAngle', 'cutAngle', 'deg', '0', 'Angle between shot line and line of centres; 0 is full.'),
};

const contact: ColumnTable = {
  contact_closed_frame: plain('integer', 'contact.closedFrame', '34', 'First frame in which the gap looks closed.'),
  contact_open_frame: plain('integer', 'contact.openFrame', '37', 'First frame in which the gap looks open again.'),
  contact_counted_frames: plain(
    'integer',
    'contact.countedFrames',
    '3',
    'Contact frames before trimming, when their numbers were not kept.',
  ),
  trimmed_start: plain('integer', 'contact.trimmedStart', '1', 'Frames left out at the start of the contact.'),
  trimmed_end: plain('integer', 'contact.trimmedEnd', '0', 'Frames left out at the end of the contact.'),
};

const tipHeight: ColumnTable = {
  tip_height_method: plain(
    'text',
    'tipHeight.method',
    'shaftTopEdge',
    'shaftTopEdge, shaftEdges, contactMark or ring; when empty it follows from the readings.',
  ),
  tip_height: measured('heightReading', 'tipHeight.height', 'mm', '-8', 'Height of the contact mark.', instead),
  tip_height_height: measured('heightReading', 'tipHeight.height', 'mm', '-8', 'The same as tip_height.', instead),
  tip_height_top_edge: measured('heightReading', 'tipHeight.topEdge', 'mm', '-5.5', 'Top edge of the shaft.'),
  tip_height_bottom_edge: measured(
    'heightReading',
    'tipHeight.bottomEdge',
    'mm',
    '-18.2',
    'Bottom edge of the shaft, with the top edge.',
    instead,
  ),
  tip_height_station: measured(
    'heightReading',
    'tipHeight.station',
    'mm',
    '45',
    'Where the shaft was read: distance from the ball centre towards the butt; 45 mm when empty.',
  ),
  tip_height_ring: plain('number', 'tipHeight.ring', '2.5', 'Number of the ring, from the ball centre.', instead),
  tip_height_ring_step: measured(
    'heightReading',
    'tipHeight.ringStep',
    'mm',
    '4',
    'Height between neighbouring rings.',
    instead,
  ),
  tip_height_side: plain('text', 'tipHeight.side', 'below', 'above or below: the side of the ring.', instead),
  tip_height_edge: plain(
    'text',
    'tipHeight.edge',
    'top',
    'contact, top or bottom: what was read against the rings; contact when empty.',
    instead,
  ),
  tip_height_resolution: plain('number', 'tipHeight.resolution', '0.5', 'Smallest step told apart, in rings.', instead),
  tip_height_standard_uncertainty: measured(
    'heightReading',
    'tipHeight.standardUncertainty',
    'mm',
    '0.2',
    'Standard uncertainty of one reading; that of the rig when empty.',
  ),
};

const outcome: ColumnTable = {
  ball_speed: measured('ballSpeed', 'ballSpeed', 'm/s', '3.1', 'Speed of the cue ball off the tip, when measured.'),
  outcome_distance: measured(
    'outcomeDistance',
    'outcome.distance',
    'cm',
    '-31',
    'Where the cue ball ended, from its place at the ball-ball impact: - draw, + follow.',
  ),
  outcome_ended: plain('text', 'outcome.ended', 'atRest', `How it ended: ${endings.join(', ')}.`),
  outcome_standard_uncertainty: measured(
    'outcomeDistance',
    'outcome.standardUncertainty',
    'cm',
    '0.5',
    'Standard uncertainty of the outcome distance; 5 mm when empty.',
  ),
  outcome_first_cushion_distance: measured(
    'outcomeDistance',
    'outcome.firstCushionDistance',
    'cm',
    '-80',
    'Where the cue ball first touched a cushion after the ball-ball impact.',
    instead,
  ),
  outcome_object_ball_pocketed: plain('boolean', 'outcome.objectBallPocketed', 'false', 'true when it was pocketed.'),
};

const reported: ColumnTable = {
  reported_cue_speed: measured('cueSpeed', 'reported.cueSpeed', 'm/s', '2.4', "The lab's own value, to compare."),
  reported_cue_acceleration: measured(
    'cueAcceleration',
    'reported.cueAcceleration',
    'm/s2',
    '18',
    "The lab's own value, to compare.",
  ),
  reported_contact_time: measured(
    'contactTime',
    'reported.contactTime',
    'ms',
    '1.4',
    "The lab's own value, to compare.",
  ),
  reported_tip_offset: measured(
    'tipOffset',
    'reported.tipOffset',
    'R',
    '-0.32',
    "The lab's own value, to compare: - below the centre.",
  ),
};

/** What a row says about the camera of its ball track; the track itself comes in the part `tracks`. */
const ballCamera: ColumnTable = {
  ball_capture_rate: measured(
    'captureRate',
    'ballTrack.captureRate',
    'frames/s',
    '120',
    'Capture rate of the camera that filmed the ball; that of the rig when empty.',
    instead,
  ),
  ball_playback_rate: measured(
    'playbackRate',
    'ballTrack.playbackRate',
    'frames/s',
    '30',
    'Its playback rate.',
    instead,
  ),
  ball_scale: measured('scale', 'ballTrack.scale', 'mm/px', '1.2', 'Its scale, when positions are in pixels.', instead),
  ball_scale_relative_uncertainty: plain(
    'number',
    'ballTrack.scaleRelativeUncertainty',
    '0.005',
    'Relative standard uncertainty of its scale; 0.005 when empty.',
    instead,
  ),
  ball_contact_frame: plain('integer', 'ballTrack.contactFrame', '12', 'Its frame of tip-ball contact.', instead),
  ball_impact_frame: plain('integer', 'ballTrack.impactFrame', '48', 'Its frame of ball-ball impact.', instead),
};

/** Repeat readings that fit a row: fill the first before the second. */
function repeat(number: number): ColumnTable {
  const name = `repeat${number}`;
  const path = `repeats.${number - 1}`;
  const own = number === 1 ? {} : instead;
  return {
    [`${name}_observer`]: plain('text', `${path}.observer`, 'O2', 'Code of who read the shot again.', own),
    [`${name}_contact_closed_frame`]: plain('integer', `${path}.contact.closedFrame`, '34', 'As read again.', own),
    [`${name}_contact_open_frame`]: plain('integer', `${path}.contact.openFrame`, '38', 'As read again.', own),
    [`${name}_contact_counted_frames`]: plain(
      'integer',
      `${path}.contact.countedFrames`,
      '4',
      'As read again.',
      instead,
    ),
    [`${name}_tip_height`]: measured(
      'heightReading',
      `${path}.tipHeight.height`,
      'mm',
      '-8.1',
      'Mark, again.',
      instead,
    ),
    [`${name}_tip_height_top_edge`]: measured(
      'heightReading',
      `${path}.tipHeight.topEdge`,
      'mm',
      '-5.6',
      'Top edge of the shaft, as read again.',
      own,
    ),
    [`${name}_outcome_distance`]: measured(
      'outcomeDistance',
      `${path}.outcomeDistance`,
      'cm',
      '-30.6',
      'As read again.',
      own,
    ),
  };
}

const rest: ColumnTable = {
  lab_flags: plain(
    'words',
    'labFlags',
    'miscue push',
    `Any of ${labFlagNames.join(', ')}, separated by spaces.`,
    instead,
  ),
  clip_link: plain('text', 'clip.link', 'https://films.example/001.mp4', 'Where the film lies.'),
  clip_sha256: plain(
    'text',
    'clip.sha256',
    'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855',
    'SHA-256 of the film.',
  ),
  tracks: plain(
    'words',
    'tracks',
    'cue ball',
    'Tracks that the part tracks must hold for this shot: cue, ball. When empty, whatever it holds is taken.',
    instead,
  ),
  shared: plain('boolean', 'shared', 'false', 'true to share with everybody now.'),
  note: plain('text', 'note', 'felt cleaned', 'Anything else, at most 500 characters.'),
};

export const csvColumns: ColumnTable = {
  ...identity,
  ...contact,
  ...tipHeight,
  ...outcome,
  ...reported,
  ...ballCamera,
  ...repeat(1),
  ...repeat(2),
  ...repeat(3),
  ...rest,
};

/** The columns of the part `tracks`: one row a point. Rows of one track stand in order; tracks may be mixed. */
export const trackColumns: ColumnTable = {
  label: plain('text', 'label', '2026-03-02/002', 'Label of the shot, as in the table of shots.', { required: true }),
  kind: plain('text', 'kind', 'cue', 'cue or ball: what was tracked; cue when empty.'),
  frame: plain('integer', 'frame', '0', 'Frame number on the clock of its camera; or give the time.'),
  time: measured('trackTime', 'time', 'ms', '0', 'Frame number / capture rate; or give the frame.'),
  position: measured('cuePosition', 'position', 'mm', '82.29', 'Position along the axis.', { required: true }),
  gap: measured('cuePosition', 'gap', 'mm', '', 'Gap between tip and ball in the unit of the position, where tracked.'),
};
