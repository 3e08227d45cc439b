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
