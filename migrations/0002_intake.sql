-- The tip-ball gap beside the positions of a cue track: little-endian float64, NaN where it was not tracked.
alter table track add column gaps bytea;
--> statement-breakpoint
-- Curated terms of stroke styles and grips, and which term each code of a lab means.
create table vocabulary_term (
  kind text not null check (kind in ('strokeStyle', 'grip')),
  code text not null,
  meaning text not null,
  created_at timestamptz not null default now(),
  primary key (kind, code)
);
--> statement-breakpoint
create table vocabulary_mapping (
  lab_id integer not null references lab (id),
  kind text not null,
  code text not null,
  term text not null,
  primary key (lab_id, kind, code),
  foreign key (kind, term) references vocabulary_term (kind, code)
);
--> statement-breakpoint
-- The terms that the codes of a shot meant when its release was frozen.
alter table release_member add column stroke_style_term text, add column grip_term text;
--> statement-breakpoint
-- Why a submission changed what was stored: the reason given with a correction or an adoption of other gear.
alter table submission add column reason text;
--> statement-breakpoint
alter table submission add column purpose text not null default 'upload' check (purpose in ('upload', 'amendment', 'adoption'));
--> statement-breakpoint
-- Dry-run receipts live for a day.
create index submission_dry_run on submission (received_at) where dry_run;
--> statement-breakpoint
-- An answer that is kept for a repeat of the same upload. While receipt is null the upload is in progress: its server
-- renews alive_until, so that the mark of a dead one ends by itself.
create table idempotency_key (
  token_id uuid not null references access_token (id),
  key text not null,
  claim uuid not null,
  started_at timestamptz not null,
  alive_until timestamptz not null,
  body_digest text,
  receipt text,
  primary key (token_id, key)
);
--> statement-breakpoint
create index idempotency_key_started on idempotency_key (started_at);
--> statement-breakpoint
-- Sharing from a date on. The choice is made when it takes effect; what took effect keeps its time.
create table planned_sharing (
  id uuid primary key default gen_random_uuid(),
  lab_id integer not null references lab (id),
  choice jsonb not null,
  due_at timestamptz not null,
  token_id uuid references access_token (id),
  created_at timestamptz not null default now(),
  done_at timestamptz,
  cancelled_at timestamptz,
  shared integer
);
--> statement-breakpoint
create index planned_sharing_due on planned_sharing (due_at) where done_at is null and cancelled_at is null;
--> statement-breakpoint
create index shot_revision_rig on shot_revision (rig_id);
--> statement-breakpoint
create index release_member_revision on release_member (revision_id);
--> statement-breakpoint
-- Doubles hardly compress by the method of the server, and trying to takes longer than storing them.
alter table track alter column positions set storage external, alter column frames set storage external,
  alter column times set storage external, alter column gaps set storage external;
--> statement-breakpoint
alter table derivation alter column derived set storage external;
