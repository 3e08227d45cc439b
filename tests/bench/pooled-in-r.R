# The question of the regression row in R, with packages of Debian: r-cran-rpostgresql, r-cran-lme4.
# Arguments: host, port, user, database. Prints seconds of fetching the rows, lm and lmer.
given <- commandArgs(TRUE)
suppressMessages({ library(RPostgreSQL); library(lme4) })
connection <- dbConnect(PostgreSQL(), host = given[1], port = as.integer(given[2]), user = given[3],
  password = Sys.getenv("PGPASSWORD"), dbname = given[4])
seconds <- function(work) system.time(work)[["elapsed"]]
fetching <- seconds(shots <- dbGetQuery(connection, "
  select lab_id, contact_time, cue_speed, cue_acceleration, tip_offset from hot_shot
  where shared and source = 1 and cue_speed >= 1.1
    and contact_time is not null and cue_acceleration is not null and tip_offset is not null"))
invisible(dbDisconnect(connection))
shots$lab_id <- factor(shots$lab_id)
terms <- "contact_time ~ cue_speed + cue_acceleration + tip_offset"
fixed <- seconds(fit <- lm(as.formula(paste(terms, "+ lab_id")), shots))
random <- seconds(suppressWarnings(suppressMessages(mixed <- lmer(as.formula(paste(terms, "+ (1 | lab_id)")), shots))))
cat(sprintf("%d %.6f %.6f %.6f %.12g %.12g\n", nrow(shots), fetching, fixed, random,
  coef(fit)[["cue_speed"]], fixef(mixed)[["cue_speed"]]))
