-- Questions that take long, as resources that every server can show; and answers kept as the text that was given.
create table analysis_job (
  id uuid primary key default gen_random_uuid(),
  token_id uuid references access_token (id),
  analysis_id text not null,
  scope text not null,
  state text not null check (state in ('waiting', 'running', 'finished', 'failed', 'cancelled')),
  step text,
  share float8 not null default 0,
  problem jsonb,
  cancel_requested boolean not null default false,
  asked_at timestamptz not null default clock_timestamp(),
  alive_until timestamptz not null,
  finished_at timestamptz
);
--> statement-breakpoint
-- Who asks the same again while it is worked on is shown the same job.
create unique index analysis_job_at_work on analysis_job (analysis_id, token_id) nulls not distinct
  where finished_at is null;
--> statement-breakpoint
alter table analysis alter column result type json using result::json;
