-- Which chunks of 8192 ordinals of the hot table changed at which version of their lab, so that a server reads only those
-- again. The version of a lab moves as the last step of a writing transaction, under the lock of its row: what is written
-- before that step gets the version that follows.
create table hot_chunk (
  lab_id integer not null references lab (id),
  chunk integer not null,
  version bigint not null,
  primary key (lab_id, chunk)
);
--> statement-breakpoint
insert into hot_chunk (lab_id, chunk, version)
select h.lab_id, h.ordinal >> 13, max(lab.version) from hot_shot h join lab on lab.id = h.lab_id group by 1, 2;
--> statement-breakpoint
create function note_changed_chunks() returns trigger language plpgsql as $$
begin
  insert into hot_chunk (lab_id, chunk, version)
  select changed.lab_id, changed.chunk, lab.version + 1
  from (select distinct lab_id, ordinal >> 13 as chunk from changed_rows) changed join lab on lab.id = changed.lab_id
  order by changed.lab_id, changed.chunk
  on conflict (lab_id, chunk) do update set version = excluded.version where hot_chunk.version < excluded.version;
  return null;
end $$;
--> statement-breakpoint
create trigger hot_shot_inserted after insert on hot_shot referencing new table as changed_rows
  for each statement execute function note_changed_chunks();
--> statement-breakpoint
create trigger hot_shot_updated after update on hot_shot referencing new table as changed_rows
  for each statement execute function note_changed_chunks();
--> statement-breakpoint
create trigger hot_shot_deleted after delete on hot_shot referencing old table as changed_rows
  for each statement execute function note_changed_chunks();
