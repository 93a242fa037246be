# The large-data additive model of R's mgcv on the rows that rates_speed.py wrote; called by it.
suppressMessages(library(mgcv))
folder <- commandArgs(trailingOnly = TRUE)[1]
settings <- scan(file.path(folder, "settings.txt"), quiet = TRUE)
n <- settings[1]; lambda <- settings[2]; low <- settings[3]; high <- settings[4]
read <- function(name, what) readBin(file.path(folder, name), what, n)
rows <- data.frame(depth = read("depth", "double"), hours = read("hours", "double"),
                   strikes = read("strikes", "double"), trip = factor(read("trip", "integer")))
step <- (high - low) / 9
knots <- list(depth = low + step * (-3:12))
for (strata in c(FALSE, TRUE)) {
  model <- strikes ~ s(depth, bs = "ps", k = 12, m = c(2, 3)) + offset(log(hours))
  if (strata) model <- update(model, . ~ . + trip)
  # sp multiplies a penalty that mgcv has scaled by the rows
  scale <- smoothCon(s(depth, bs = "ps", k = 12, m = c(2, 3)), rows, knots)[[1]]$S.scale
  spent <- system.time(
    fit <- bam(model, data = rows, family = poisson(), discrete = TRUE, knots = knots,
               sp = lambda * scale))
  seconds <- spent[["user.self"]] + spent[["sys.self"]]
  at <- data.frame(depth = seq(low + 1, high - 1, length.out = 41), hours = 1, trip = rows$trip[1])
  curve <- predict(fit, at, type = "terms", terms = "s(depth)")[, 1]
  write(c(seconds, curve), file.path(folder, if (strata) "trips.out" else "pooled.out"), ncolumns = 1)
}
