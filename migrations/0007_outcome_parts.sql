-- The parts of the uncertainty of an outcome distance that shots of a rig or a table have in common.
alter table hot_shot
  add column u_outcome_distance_rig float8,
  add column u_outcome_distance_table float8;
--> statement-breakpoint
update hot_shot
set
  u_outcome_distance_rig = (derivation.derived #>> '{outcomeDistance,parts,rig}')::float8,
  u_outcome_distance_table = (derivation.derived #>> '{outcomeDistance,parts,table}')::float8
from derivation
join server_state on server_state.active_method = derivation.method_version
where derivation.revision_id = hot_shot.revision_id;
