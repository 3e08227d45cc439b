-- Outcomes that rails do not censor, as variables of analyses; what was derived before is filled in.
alter table hot_shot
  add column outcome_class float8,
  add column early_outcome_distance float8;
--> statement-breakpoint
update hot_shot
set
  outcome_class = case
    when shown.value is not null then case when abs(shown.value) <= 0.028575 then 0 else sign(shown.value) end
    when abs(shown.bound) > 0.028575 then sign(shown.bound)
  end,
  early_outcome_distance = (
    select case
      when ends.after_time is null then case when shown.ended = 'atRest' then ends.last_distance end
      when ends.after_time = ends.before_time or ends.before_time is null then ends.after_distance
      else ends.before_distance
        + (0.5::float8 - ends.before_time) / (ends.after_time - ends.before_time)
        * (ends.after_distance - ends.before_distance)
    end
    from (
      select
        (array_agg(at order by at) filter (where at >= 0.5))[1] as after_time,
        (array_agg(distance order by at) filter (where at >= 0.5))[1] as after_distance,
        (array_agg(at order by at desc) filter (where at < 0.5))[1] as before_time,
        (array_agg(distance order by at desc) filter (where at < 0.5))[1] as before_distance,
        (array_agg(distance order by at desc))[1] as last_distance
      from (
        select (sample ->> 'time')::float8 as at, (sample ->> 'distance')::float8 as distance
        from json_array_elements(shown.samples) as sample
      ) as samples
    ) as ends
  )
from derivation
join server_state on server_state.active_method = derivation.method_version,
lateral (
  select
    (derivation.derived #>> '{outcomeDistance,value}')::float8 as value,
    (derivation.derived ->> 'outcomeBound')::float8 as bound,
    derivation.derived #>> '{ball,ended}' as ended,
    coalesce(
      case when json_typeof(derivation.derived #> '{ball,outcomeOverTime}') = 'array'
        then derivation.derived #> '{ball,outcomeOverTime}' end,
      '[]'::json) as samples
) as shown
where derivation.revision_id = hot_shot.revision_id;
