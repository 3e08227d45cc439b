/** shots.csv: what the labs sent, one row a shot. The columns before `content` are there to be read; `content` is whole. */
import type { Measure } from '../../shared/measure.ts';
import { type QuantityName, quantities } from '../../shared/quantities.ts';
import { endings } from '../../shared/shot.ts';
import { canonicalJson } from '../pooling/canonical.ts';
import { column, type Table, type TableColumn } from './csv-table.ts';
import type { FrozenShot } from './frozen-shot.ts';

type Content = FrozenShot['content'];
type ShotColumn = TableColumn<FrozenShot>;

function text(name: string, meaning: string, pick: (content: Content) => string | undefined): ShotColumn {
  return column(name, 'string', meaning, ({ content }) => pick(content) ?? null);
}

function integer(name: string, meaning: string, pick: (content: Content) => number | undefined): ShotColumn {
  return column(name, 'integer', meaning, ({ content }) => pick(content) ?? null);
}

/** A measure as two columns: the value as sent and the unit as sent. */
function measure(
  name: string,
  quantity: QuantityName,
  meaning: string,
  pick: (content: Content) => Measure | undefined,
): ShotColumn[] {
  const { description } = quantities[quantity];
  return [
    column(name, 'number', `${meaning} ${description} As sent, in ${name}Unit.`.trim(), ({ content }) => {
      return pick(content)?.value ?? null;
    }),
    text(`${name}Unit`, `Unit of ${name}.`, (content) => pick(content)?.unit),
  ];
}

const tipHeightColumns: ShotColumn[] = [
  text('tipHeightMethod', 'How the tip height was read.', (content) => content.tipHeight?.method),
  ...measure('topEdge', 'heightReading', 'Top edge of the shaft.', ({ tipHeight: reading }) =>
    reading !== undefined && 'topEdge' in reading ? reading.topEdge : undefined,
  ),
  ...measure('bottomEdge', 'heightReading', 'Bottom edge of the shaft.', ({ tipHeight: reading }) =>
    reading?.method === 'shaftEdges' ? reading.bottomEdge : undefined,
  ),
  ...measure('markHeight', 'heightReading', 'Contact mark on the ball.', ({ tipHeight: reading }) =>
    reading?.method === 'contactMark' ? reading.height : undefined,
  ),
  column('ring', 'number', 'Number of the ring, counted from the ball centre.', ({ content }) =>
    content.tipHeight?.method === 'ring' ? content.tipHeight.ring : null,
  ),
  text('ringSide', 'Whether the ring is above or below the centre.', ({ tipHeight: reading }) =>
    reading?.method === 'ring' ? reading.side : undefined,
  ),
  text(
    'ringEdge',
    'What was read against the rings: the contact, or an edge of the shaft.',
    ({ tipHeight: reading }) => (reading?.method === 'ring' ? reading.edge : undefined),
  ),
  column('ringResolution', 'number', 'Smallest step told apart, in rings.', ({ content }) =>
    content.tipHeight?.method === 'ring' ? (content.tipHeight.resolution ?? null) : null,
  ),
  ...measure('ringStep', 'heightReading', 'Height between neighbouring rings.', ({ tipHeight: reading }) =>
    reading?.method === 'ring' ? reading.ringStep : undefined,
  ),
  ...measure('station', 'heightReading', 'Where the shaft was read, from the ball centre.', ({ tipHeight: reading }) =>
    reading !== undefined && 'station' in reading ? reading.station : undefined,
  ),
  ...measure(
    'tipHeightUncertainty',
    'heightReading',
    'Standard uncertainty of the reading.',
    (content) => content.tipHeight?.standardUncertainty,
  ),
];

export const shotsTable: Table<FrozenShot> = {
  file: 'shots.csv',
  title: 'Shots as sent by the labs',
  primaryKey: ['lab', 'ordinal'],
  columns: [
    column('lab', 'string', 'Slug of the lab.', (row) => row.lab, { required: true }),
    column(
      'ordinal',
      'integer',
      'Number of the shot within its lab, in order of first acceptance.',
      (row) => row.ordinal,
      {
        required: true,
      },
    ),
    column('label', 'string', "The lab's own label of the shot.", ({ content }) => content.label, { required: true }),
    column('revision', 'integer', 'Number of the revision that this release holds.', (row) => row.revision, {
      required: true,
    }),
    column('rig', 'string', 'Rig and its version, name@version; see gear.json.', ({ content }) => content.rig, {
      required: true,
    }),
    text('cue', 'Cue and its version; see gear.json.', (content) => content.cue),
    text('table', 'Table and its version; see gear.json.', (content) => content.table),
    text('player', 'Code of the player.', (content) => content.player),
    text('observer', 'Code of the observer who read the film.', (content) => content.observer),
    column('sessionDate', 'date', 'Calendar date of the session as the lab wrote it.', ({ content }) => {
      return content.sessionDate ?? null;
    }),
    text('strokeStyle', "The lab's code of the stroke style.", (content) => content.strokeStyle),
    text('grip', "The lab's code of the grip.", (content) => content.grip),
    column('strokeStyleTerm', 'string', 'Curated term that the code of the stroke style meant.', ({ terms }) => {
      return terms?.strokeStyle ?? null;
    }),
    column('gripTerm', 'string', 'Curated term that the code of the grip meant.', ({ terms }) => terms?.grip ?? null),
    column('straight', 'boolean', 'True when the object ball was hit full.', ({ content }) => content.straight, {
      required: true,
    }),
    ...measure('objectBallDistance', 'objectBallDistance', '', (content) => content.objectBallDistance),
    ...measure('elevation', 'elevation', '', (content) => content.elevation),
    ...measure('cutAngle', 'cutAngle', '', (content) => content.cutAngle),
    column('trackPoints', 'integer', 'Number of points of the cue track; empty when none was sent.', ({ track }) => {
      return track?.positions.length ?? null;
    }),
    column(
      'ballTrackPoints',
      'integer',
      'Number of points of the ball track; empty when none was sent.',
      ({ ballTrack }) => ballTrack?.positions.length ?? null,
    ),
    integer('closedFrame', 'First frame in which the gap looks closed.', ({ contact }) => contact?.closedFrame),
    integer('openFrame', 'First frame in which the gap looks open again.', ({ contact }) => contact?.openFrame),
    integer('countedFrames', 'Contact frames before trimming, when frame numbers were not kept.', ({ contact }) => {
      return contact?.countedFrames;
    }),
    integer('trimmedStart', 'Frames left out at the start of the contact.', ({ contact }) => contact?.trimmedStart),
    integer('trimmedEnd', 'Frames left out at the end of the contact.', ({ contact }) => contact?.trimmedEnd),
    ...tipHeightColumns,
    ...measure('ballSpeed', 'ballSpeed', '', (content) => content.ballSpeed),
    ...measure('outcomeDistance', 'outcomeDistance', '', (content) => content.outcome?.distance),
    ...measure('outcomeUncertainty', 'outcomeDistance', 'Standard uncertainty of:', (content) => {
      return content.outcome?.standardUncertainty;
    }),
    ...measure('firstCushionDistance', 'outcomeDistance', 'Where the cue ball first touched a cushion.', (content) => {
      return content.outcome?.firstCushionDistance;
    }),
    column('objectBallPocketed', 'boolean', 'True when the object ball was pocketed.', ({ content }) => {
      return content.outcome?.objectBallPocketed ?? null;
    }),
    column('ended', 'string', 'How the outcome ended.', ({ content }) => content.outcome?.ended ?? null, {
      allowed: endings,
    }),
    ...measure('reportedCueSpeed', 'cueSpeed', "The lab's own value.", (content) => content.reported?.cueSpeed),
    ...measure('reportedCueAcceleration', 'cueAcceleration', "The lab's own value.", (content) => {
      return content.reported?.cueAcceleration;
    }),
    ...measure(
      'reportedContactTime',
      'contactTime',
      "The lab's own value.",
      (content) => content.reported?.contactTime,
    ),
    ...measure('reportedTipOffset', 'tipOffset', "The lab's own value.", (content) => content.reported?.tipOffset),
    column('repeats', 'integer', 'Number of repeat readings; they stand in content.', ({ content }) => {
      return content.repeats.length;
    }),
    text('clip', 'Where the film lies.', (content) => content.clip?.link),
    text('clipSha256', 'SHA-256 of the film.', (content) => content.clip?.sha256),
    text('labFlags', 'Flags set by the lab, separated by spaces.', ({ labFlags }) => labFlags.join(' ')),
    text('note', "The lab's note.", (content) => content.note),
    column(
      'contentHash',
      'string',
      'SHA-256 of the canonical JSON of content, with the SHA-256 of the cue track in the field cueTrack and that of the ball track in the field track of ballTrack, where there are such tracks.',
      (row) => row.contentHash,
      { required: true },
    ),
    column(
      'content',
      'string',
      'The whole shot as sent except the points of its tracks, as canonical JSON (RFC 8785); the recomputation reads this column.',
      ({ content }) => canonicalJson(content),
      { required: true },
    ),
  ],
};
