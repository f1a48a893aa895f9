# Figures that tests/unit/stats_*.c hold the C code against, worked out by R (4.2.2 when they were
# written) from tests/data. Run from the top of the project:
#   Rscript tests/r/reference.R > tests/r/reference.txt
# Needs r-base-core; nlme for the random-slope fit, which is left out when it is missing.
options(digits = 12)
say <- function(name, ...) cat(name, formatC(c(...), digits = 12, width = 1), "\n")
data <- function(name) read.csv(file.path("tests/data", name))

# Quantiles of Student's t.
for (df in c(1, 2, 3, 5, 8, 20, 34, 200)) say(paste0("t ", df), qt(c(.9, .975, .995, .9999), df))

# Straight line for every unit, then the units' slopes as one sample.
per_unit <- function(name, unit, x, y) {
  unit <- factor(unit, levels = unique(unit))
  fits <- lapply(levels(unit), function(u) lm(yy ~ xx, data.frame(xx = x[unit == u], yy = y[unit == u])))
  b <- sapply(fits, function(f) coef(f)[[2]])
  sxx <- sapply(levels(unit), function(u) sum((x[unit == u] - mean(x[unit == u]))^2))
  sigma <- sqrt(sum(sapply(fits, deviance)) / sum(sapply(fits, df.residual)))
  say(paste(name, "first slope"), b[1], confint(fits[[1]])[2, ])
  say(paste(name, "last slope"), b[length(b)], confint(fits[[length(b)]])[2, ])
  say(paste(name, "within"), sigma, sum(sapply(fits, df.residual)))
  v <- sigma^2 / sxx
  k <- length(b)
  minus_likelihood <- function(log_tau2) {
    w <- 1 / (v + exp(log_tau2)); m <- sum(w * b) / sum(w)
    0.5 * (-sum(log(w)) + log(sum(w)) + sum(w * (b - m)^2))
  }
  tau2 <- exp(optimize(minus_likelihood, log(var(b)) + c(-12, 6), tol = 1e-10)$minimum)
  w <- 1 / (v + tau2); m <- sum(w * b) / sum(w)
  se <- sqrt(sum(w * (b - m)^2) / ((k - 1) * sum(w)))
  say(paste(name, "reml"), m, se, sqrt(tau2))
  say(paste(name, "mean interval"), m + c(-1, 1) * qt(.975, k - 1) * se)
  say(paste(name, "prediction"), m + c(-1, 1) * qt(.975, k - 2) * sqrt(tau2 + se^2))
}
o <- data("orthodont.csv")
per_unit("orthodont", o$Subject, o$age, o$distance)
f <- data("fatigue.csv")
per_unit("fatigue", f$path, f$cycles, f$relLength)
if (requireNamespace("nlme", quietly = TRUE)) {
  m <- nlme::lme(distance ~ age, random = ~ age | Subject, data = o,
                 control = nlme::lmeControl(msTol = 1e-12, tolerance = 1e-12))
  s <- summary(m)
  say("orthodont lme", s$tTable["age", 1:2], as.numeric(nlme::VarCorr(m)["age", "StdDev"]))
}

# Kendall's test on a few readings, without ties.
k <- cor.test(1:7, c(98, 97.2, 97.5, 96.1, 96.4, 95, 94.2), method = "kendall", exact = TRUE)
say("kendall 7", k$estimate, k$p.value)
