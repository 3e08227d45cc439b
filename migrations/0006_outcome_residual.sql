-- Measured minus expected outcome distance as a variable of analyses; what was derived before is filled in.
alter table hot_shot
  add column outcome_residual float8,
  add column u_outcome_residual float8,
  add column u_outcome_residual_rig float8,
  add column u_outcome_residual_cue float8,
  add column u_outcome_residual_table float8;
--> statement-breakpoint
update hot_shot
set
  outcome_residual = (judged.residual ->> 'value')::float8,
  u_outcome_residual = (judged.residual ->> 'standardUncertainty')::float8,
  u_outcome_residual_rig = (judged.residual #>> '{parts,rig}')::float8,
  u_outcome_residual_cue = (judged.residual #>> '{parts,cue}')::float8,
  u_outcome_residual_table = (judged.residual #>> '{parts,table}')::float8
from server_state, derivation, lateral (
  select jsonb_path_query_first(
    derivation.derived, '$.expected.models[*] ? (@.model == "constantRestitution").residual') as residual
) as judged
where derivation.revision_id = hot_shot.revision_id
  and derivation.method_version = server_state.active_method
  and jsonb_typeof(judged.residual) = 'object';
