# Answers questions about limits, fits and seasons with R's own routines, sharing nothing with the core.
# One question a line on standard input, its answer on one line of standard output, 17 digits, NA for none:
#   limits LEVEL x n          prop.test without and with continuity correction, binom.test, Jeffreys by qbeta
#   cups LEVEL x:n x:n ...    p, design effect, effective mites, interval; beta-binomial mu and rho by direct ML
#   poisson LEVEL x           poisson.test
#   abbott LEVEL Tt Wt Tc Wc  1 - ratio of survivals with Katz's log limits
#   arms LEVEL x:n,x:n ...    paired difference: p1 - p2 and its limits, from a linear model of the residuals
#   season LEVEL LINE p:n ... metafor: REML tau^2, mean, Knapp-Hartung, Q; prediction t(k-2); share below the line
# Run by tests/shared/live.test.ts. Written for R 4.2.2 and metafor 3.8-1.

pairs <- function(words) do.call(rbind, lapply(strsplit(words, ":"), as.numeric))

limits <- function(level, x, n) c(
  prop.test(x, n, conf.level = level, correct = FALSE)$conf.int,
  prop.test(x, n, conf.level = level)$conf.int,
  binom.test(x, n, conf.level = level)$conf.int,
  if (x == 0) 0 else qbeta((1 - level) / 2, x + .5, n - x + .5),
  if (x == n) 1 else qbeta((1 + level) / 2, x + .5, n - x + .5))

# The two roots of (p - pi)^2 = t^2 pi (1 - pi) / n.
wilson <- function(p, n, t) sort(Re(polyroot(c(p^2, -2 * p - t^2 / n, 1 + t^2 / n))))

# log of the beta-binomial probability, in the textbook form with beta functions.
betabinomial <- function(x, n, mu, rho) {
  if (rho == 0) return(sum(dbinom(x, n, mu, log = TRUE)))
  if (rho == 1) return(if (all(x == 0 | x == n)) sum(dbinom(x > 0, 1, mu, log = TRUE)) else -Inf)
  a <- mu * (1 - rho) / rho
  b <- (1 - mu) * (1 - rho) / rho
  sum(lchoose(n, x) + lbeta(x + a, n - x + b) - lbeta(a, b))
}

fit <- function(x, n) {
  if (sum(x) == 0 || sum(x) == sum(n) || all(n <= 1)) return(c(sum(x) / sum(n), NA))
  best <- function(rho) optimize(function(mu) betabinomial(x, n, mu, rho), c(1e-9, 1 - 1e-9), maximum = TRUE, tol = 1e-12)
  grid <- .999 * (0:40 / 40)^2
  profile <- sapply(grid, function(rho) best(rho)$objective)
  i <- which.max(profile)
  around <- c(grid[max(1, i - 1)], grid[min(length(grid), i + 1)])
  # Below 1e-5 the beta functions lose their digits; there only the binomial is compared.
  top <- optimize(function(rho) best(rho)$objective, c(max(around[1], 1e-5), around[2]), maximum = TRUE, tol = 1e-12)
  rho <- if (top$objective > profile[1] + 1e-9) top$maximum else 0
  if (all(x == 0 | x == n) && best(1)$objective > max(top$objective, profile[1]) - 1e-9) rho <- 1
  c(best(rho)$maximum, rho)
}

cups <- function(level, xn) {
  x <- xn[, 1]; n <- xn[, 2]; k <- length(x); p <- sum(x) / sum(n)
  # The ratio estimator is the weighted mean of x/n; its residuals' mean square gives the variance.
  v <- k * var(x - p * n) / sum(n)^2
  deff <- if (p %in% 0:1) NA else v * sum(n) / (p * (1 - p))
  neff <- sum(n) / max(1, deff, na.rm = TRUE)
  c(p, deff, neff, wilson(p, neff, qt((1 + level) / 2, k - 1)), fit(x, n))
}

abbott <- function(level, tt, wt, tc, wc) {
  rr <- (wt / (tt + wt)) / (wc / (tc + wc))
  se <- sqrt(1 / wt - 1 / (tt + wt) + 1 / wc - 1 / (tc + wc))
  c(1 - rr, 1 - exp(log(rr) + c(1, -1) * qnorm((1 + level) / 2) * se))
}

arms <- function(level, words) {
  both <- strsplit(words, ",")
  one <- pairs(sapply(both, `[`, 1)); two <- pairs(sapply(both, `[`, 2)); k <- nrow(one)
  p <- c(sum(one[, 1]) / sum(one[, 2]), sum(two[, 1]) / sum(two[, 2]))
  e <- (one[, 1] - p[1] * one[, 2]) / sum(one[, 2]) - (two[, 1] - p[2] * two[, 2]) / sum(two[, 2])
  least <- function(a) { n <- sum(a[, 2]) + 2; q <- (sum(a[, 1]) + 1) / n; q * (1 - q) / n }
  # k times the standard error of a mean of k paired residuals, as a paired t test has it.
  se <- max(k * summary(lm(e ~ 1))$coefficients[1, 2], sqrt(least(one) + least(two)))
  d <- p[1] - p[2]
  c(d, max(-1, d - qt((1 + level) / 2, k - 1) * se), min(1, d + qt((1 + level) / 2, k - 1) * se))
}

season <- function(level, line, pn) {
  suppressMessages(library(metafor))
  # escalc adds half a mite to both counts where one is 0, in that yard alone, as the core does.
  dat <- escalc("PLO", xi = pn[, 1] * pn[, 2], mi = (1 - pn[, 1]) * pn[, 2])
  k <- nrow(dat)
  reml <- function(test) rma(yi, vi, data = dat, method = "REML", test = test, level = 100 * level,
    control = list(threshold = 1e-12, maxiter = 10000, stepadj = .5))
  r <- reml("knha")
  # At no variance between yards the core keeps the factor at 1 or more; metafor calls that adhoc.
  if (r$tau2 < 1e-10) r <- reml("adhoc")
  qs <- function(tau2) { w <- 1 / (dat$vi + tau2); m <- sum(w * dat$yi) / sum(w); list(q = sum(w * (dat$yi - m)^2), m = m, w = sum(w)) }
  at <- function(u) {
    q <- qchisq(u, k - 1)
    if (qs(0)$q <= q) 0 else { high <- 1; while (qs(high)$q > q) high <- 2 * high; uniroot(function(t) qs(t)$q - q, c(0, high), tol = 1e-9)$root }
  }
  # The chance that the share below the line is at most pnorm(z), over the spread given by the chi-squared value.
  chance <- function(z) integrate(Vectorize(function(u) { t <- at(u); s <- qs(t); pnorm((s$m - qlogis(line) + sqrt(t) * z) * sqrt(s$w)) }),
    0, 1, rel.tol = 1e-4, stop.on.error = FALSE)$value
  limit <- function(p) {
    if (chance(-30) >= p) 0 else if (chance(30) <= p) 1 else pnorm(uniroot(function(z) chance(z) - p, c(-30, 30), tol = 1e-4)$root)
  }
  reach <- qt((1 + level) / 2, k - 2) * sqrt(r$tau2 + r$se^2)
  c(r$tau2, plogis(c(r$b, r$ci.lb, r$ci.ub)), r$QE, plogis(r$b + c(-1, 1) * reach),
    limit((1 - level) / 2), limit((1 + level) / 2))
}

answer <- function(words) {
  level <- as.numeric(words[2]); rest <- words[-(1:2)]
  number <- function(i) as.numeric(rest[i])
  switch(words[1],
    limits = limits(level, number(1), number(2)),
    cups = cups(level, pairs(rest)),
    poisson = poisson.test(number(1), conf.level = level)$conf.int,
    abbott = abbott(level, number(1), number(2), number(3), number(4)),
    arms = arms(level, rest),
    season = season(level, number(1), pairs(rest[-1])))
}

for (line in readLines("stdin")) {
  value <- suppressWarnings(answer(strsplit(line, " ")[[1]]))
  cat(ifelse(is.na(value), "NA", format(value, digits = 17, trim = TRUE, scientific = TRUE)), "\n")
}
