-- The first schema. Names follow the words of the domain; see src/store/schema.ts for the same tables in TypeScript.
create table server_state (
  id smallint primary key check (id = 1),
  epoch uuid not null default gen_random_uuid(),
  active_method text not null
);
--> statement-breakpoint
create table lab (
  id integer generated always as identity primary key,
  slug text not null unique,
  title text not null,
  data_licence text not null,
  consent_reference text not null,
  version bigint not null default 0,
  shared_version bigint not null default 0,
  next_ordinal integer not null default 1,
  created_at timestamptz not null default now()
);
--> statement-breakpoint
create table access_token (
  id uuid primary key default gen_random_uuid(),
  hash bytea not null unique,
  role text not null check (role in ('curator', 'lead', 'contributor', 'reader')),
  lab_id integer references lab (id),
  note text not null,
  created_at timestamptz not null default now(),
  expires_at timestamptz,
  revoked_at timestamptz,
  last_used_at timestamptz,
  constraint access_token_lab check ((role in ('lead', 'contributor')) = (lab_id is not null))
);
--> statement-breakpoint
create table rig (
  id integer generated always as identity primary key,
  lab_id integer not null references lab (id),
  name text not null,
  version integer not null,
  content jsonb not null,
  created_at timestamptz not null default now(),
  constraint rig_version_unique unique (lab_id, name, version)
);
--> statement-breakpoint
create table cue (
  id integer generated always as identity primary key,
  lab_id integer not null references lab (id),
  name text not null,
  version integer not null,
  content jsonb not null,
  created_at timestamptz not null default now(),
  constraint cue_version_unique unique (lab_id, name, version)
);
--> statement-breakpoint
create table table_setup (
  id integer generated always as identity primary key,
  lab_id integer not null references lab (id),
  name text not null,
  version integer not null,
  content jsonb not null,
  created_at timestamptz not null default now(),
  constraint table_setup_version_unique unique (lab_id, name, version)
);
--> statement-breakpoint
create table submission (
  id uuid primary key,
  lab_id integer not null references lab (id),
  token_id uuid references access_token (id),
  received_at timestamptz not null,
  media_type text not null,
  dry_run boolean not null,
  accept text not null,
  revise boolean not null,
  stored boolean not null,
  created_count integer not null,
  unchanged_count integer not null,
  revised_count integer not null,
  rejected_count integer not null
);
--> statement-breakpoint
create table submission_shot (
  submission_id uuid not null references submission (id),
  position integer not null,
  label text,
  state text not null check (state in ('created', 'unchanged', 'revised', 'rejected')),
  shot_id uuid,
  revision integer,
  derived jsonb,
  faults jsonb not null,
  primary key (submission_id, position)
);
--> statement-breakpoint
create table shot (
  id uuid primary key default gen_random_uuid(),
  lab_id integer not null references lab (id),
  label text not null,
  ordinal integer not null,
  current_revision_id bigint,
  shared boolean not null default false,
  shared_at timestamptz,
  -- Number of the revision that was current when the shot was shared: earlier ones stay with the lab.
  shared_from integer,
  withdrawn_at timestamptz,
  withdrawn_reason text,
  created_at timestamptz not null default now(),
  constraint shot_label_unique unique (lab_id, label),
  constraint shot_ordinal_unique unique (lab_id, ordinal)
);
--> statement-breakpoint
create table shot_revision (
  id bigint generated always as identity primary key,
  shot_id uuid not null references shot (id),
  number integer not null,
  submission_id uuid not null references submission (id),
  content jsonb not null,
  content_hash bytea not null,
  track_hash bytea,
  rig_id integer not null references rig (id),
  cue_id integer references cue (id),
  table_id integer references table_setup (id),
  received_at timestamptz not null,
  -- When the server first got this shot or its track, in whatever submission: what margins are held against.
  first_received_at timestamptz not null,
  constraint shot_revision_number_unique unique (shot_id, number)
);
--> statement-breakpoint
create table first_receipt (
  lab_id integer not null references lab (id),
  hash bytea not null,
  received_at timestamptz not null,
  primary key (lab_id, hash)
);
--> statement-breakpoint
create index shot_revision_track_hash on shot_revision (track_hash) where track_hash is not null;
--> statement-breakpoint
alter table shot add constraint shot_current_revision foreign key (current_revision_id) references shot_revision (id) deferrable initially deferred;
--> statement-breakpoint
create table track (
  revision_id bigint not null references shot_revision (id),
  kind text not null check (kind in ('cue', 'ball')),
  unit text not null,
  points integer not null,
  positions bytea not null,
  frames bytea,
  times bytea,
  time_unit text,
  primary key (revision_id, kind)
);
--> statement-breakpoint
create table derivation (
  id bigint generated always as identity primary key,
  revision_id bigint not null references shot_revision (id),
  method_version text not null,
  derived jsonb not null,
  created_at timestamptz not null default now(),
  constraint derivation_method_unique unique (revision_id, method_version)
);
--> statement-breakpoint
create table hot_shot (
  lab_id integer not null references lab (id),
  ordinal integer not null,
  shot_id uuid not null unique references shot (id),
  revision_id bigint not null,
  label text not null,
  shared boolean not null,
  received_at timestamptz not null,
  source smallint not null,
  flags integer not null,
  rig_id integer not null,
  cue_id integer,
  table_id integer,
  straight boolean not null,
  player text,
  stroke_style text,
  grip text,
  session_date date,
  cue_speed float8,
  cue_acceleration float8,
  contact_time float8,
  counted_contact_time float8,
  tip_offset float8,
  tip_height float8,
  object_ball_distance float8,
  outcome_distance float8,
  ball_speed float8,
  cue_mass float8,
  elevation float8,
  u_cue_speed float8,
  u_cue_acceleration float8,
  covariance_speed_acceleration float8,
  u_contact_time float8,
  u_tip_offset float8,
  u_outcome_distance float8,
  primary key (lab_id, ordinal)
);
--> statement-breakpoint
create table equivalence_margin (
  id uuid primary key default gen_random_uuid(),
  variable text not null,
  value float8 not null check (value > 0),
  reason text not null,
  token_id uuid references access_token (id),
  declared_at timestamptz not null default now(),
  supersedes uuid unique references equivalence_margin (id)
);
--> statement-breakpoint
create table dataset (
  id integer generated always as identity primary key,
  slug text not null unique,
  title text not null,
  licence text not null,
  rule jsonb not null,
  created_at timestamptz not null default now()
);
--> statement-breakpoint
create table release (
  id integer generated always as identity primary key,
  dataset_id integer not null references dataset (id),
  number integer not null,
  digest text not null unique,
  manifest text not null,
  method_version text not null,
  shots integer not null,
  analyses jsonb not null,
  margins jsonb not null,
  frozen_at timestamptz not null default now(),
  constraint release_number_unique unique (dataset_id, number)
);
--> statement-breakpoint
create table release_member (
  release_id integer not null references release (id),
  lab_id integer not null references lab (id),
  ordinal integer not null,
  revision_id bigint not null references shot_revision (id),
  derivation_id bigint not null references derivation (id),
  primary key (release_id, lab_id, ordinal)
);
--> statement-breakpoint
create table release_document (
  release_id integer not null references release (id),
  name text not null,
  content text not null,
  primary key (release_id, name)
);
--> statement-breakpoint
create table analysis (
  id text primary key,
  kind text not null check (kind in ('regression', 'comparison')),
  scope text not null,
  specification jsonb not null,
  result jsonb not null,
  created_at timestamptz not null default now()
);
--> statement-breakpoint
create table audit_event (
  id bigint generated always as identity primary key,
  lab_id integer references lab (id),
  sequence bigint not null,
  happened_at timestamptz not null default now(),
  token_id uuid,
  kind text not null,
  detail jsonb not null,
  previous_digest text not null,
  digest text not null
);
--> statement-breakpoint
create unique index audit_event_sequence on audit_event (coalesce(lab_id, 0), sequence);
--> statement-breakpoint
create function refuse_change() returns trigger language plpgsql as $$
begin
  raise exception 'rows of % are never changed', tg_table_name using errcode = '23000', constraint = tg_table_name || '_immutable';
end $$;
--> statement-breakpoint
create trigger shot_revision_immutable before update or delete on shot_revision for each row execute function refuse_change();
--> statement-breakpoint
create trigger track_immutable before update or delete on track for each row execute function refuse_change();
--> statement-breakpoint
create trigger derivation_immutable before update or delete on derivation for each row execute function refuse_change();
--> statement-breakpoint
create trigger release_immutable before update or delete on release for each row execute function refuse_change();
--> statement-breakpoint
create trigger release_document_immutable before update or delete on release_document for each row execute function refuse_change();
--> statement-breakpoint
create trigger release_member_immutable before update or delete on release_member for each row execute function refuse_change();
--> statement-breakpoint
create trigger equivalence_margin_immutable before update or delete on equivalence_margin for each row execute function refuse_change();
--> statement-breakpoint
create trigger audit_event_immutable before update or delete on audit_event for each row execute function refuse_change();
--> statement-breakpoint
create trigger rig_immutable before update or delete on rig for each row execute function refuse_change();
--> statement-breakpoint
create trigger cue_immutable before update or delete on cue for each row execute function refuse_change();
--> statement-breakpoint
create trigger table_setup_immutable before update or delete on table_setup for each row execute function refuse_change();
