-- Method versions side by side, and the parts of uncertainties that shots of a rig, cue or table have in common.
create table recomputation (
  id uuid primary key default gen_random_uuid(),
  from_method text not null,
  to_method text not null unique,
  token_id uuid references access_token (id),
  started_at timestamptz not null default now(),
  finished_at timestamptz,
  failure text,
  refused integer not null default 0,
  activated_at timestamptz,
  changes jsonb
);
--> statement-breakpoint
alter table hot_shot
  add column u_cue_speed_rig float8,
  add column u_cue_acceleration_rig float8,
  add column u_contact_time_rig float8,
  add column u_tip_offset_rig float8,
  add column u_tip_offset_cue float8,
  add column u_tip_offset_table float8;
