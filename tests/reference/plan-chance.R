# Chances of the verdicts of a yard, for tests/reference/plan-chance.json. Run with R 4.2.2:
#   Rscript plan-chance.R > plan-chance.json
# Written apart from the program: every outcome of all cups is laid out one by one where that can be done (no states are
# merged), sums of negative binomials are convolved cup by cup, and yards are drawn by R's own generators.
line <- 0.7; level <- 0.95; minCups <- 5; minMites <- 20

verdict <- function(t, n) {
  keep <- n > 0; t <- t[keep]; n <- n[keep]; k <- length(n)
  if (k < minCups || sum(n) < minMites || k < 2) return("tooFew")
  p <- sum(t) / sum(n)
  v <- k / (k - 1) * sum((t - p * n)^2) / sum(n)^2
  b <- p * (1 - p) / sum(n)
  deff <- if (b == 0) 1 else max(1, v / b)
  m <- sum(n) / deff
  r <- qt(1 - (1 - level) / 2, k - 1)
  mid <- (p + r^2 / (2 * m)) / (1 + r^2 / m)
  half <- r * sqrt(p * (1 - p) / m + r^2 / (4 * m^2)) / (1 + r^2 / m)
  low <- if (p == 0) 0 else mid - half
  high <- if (p == 1) 1 else mid + half
  if (low >= line) "aboveLine" else if (high < line) "belowLine" else "undecided"
}

fall <- function(n, mu, rho) {
  x <- 0:n
  if (rho == 0) return(dbinom(x, n, mu))
  a <- mu * (1 - rho) / rho; b <- (1 - mu) * (1 - rho) / rho
  exp(lchoose(n, x) + lbeta(x + a, n - x + b) - lbeta(a, b))
}
NAMES <- c("aboveLine", "undecided", "belowLine", "tooFew")

exact <- function(cups, mites, mu, rho, lost) {
  total <- setNames(rep(0, 4), NAMES)
  f <- fall(mites, mu, rho)
  for (left in 0:cups) {
    weight <- dbinom(left, cups, 1 - lost)
    if (left == 0) { total["tooFew"] <- total["tooFew"] + weight; next }
    grid <- as.matrix(expand.grid(rep(list(0:mites), left)))
    chance <- apply(matrix(f[grid + 1], nrow(grid)), 1, prod)
    said <- apply(grid, 1, function(t) verdict(t, rep(mites, left)))
    for (name in NAMES) total[name] <- total[name] + weight * sum(chance[said == name])
  }
  total
}

tooFew <- function(cups, mean, size, lost) {
  top <- 400
  zero <- dnbinom(0, size = size, mu = mean)
  filled <- (1 - lost) * (1 - zero)
  some <- c(0, dnbinom(1:top, size = size, mu = mean) / (1 - zero))
  sum <- c(1, rep(0, top)); enough <- 0
  for (j in 1:cups) {
    sum <- sapply(0:top, function(s) sum(sum[1:(s + 1)] * some[(s + 1):1]))
    if (j >= minCups) enough <- enough + dbinom(j, cups, filled) * (1 - sum(sum[1:minMites]))
  }
  1 - enough
}

drawn <- function(cups, a, mean, size, mu, rho, lost, runs) {
  colonies <- ceiling(cups / a)
  has <- c(rep(a, colonies - 1), cups - a * (colonies - 1))
  said <- replicate(runs, {
    left <- rbinom(colonies, has, 1 - lost)
    own <- rgamma(colonies, size, size / mean)
    n <- matrix(0, colonies, a)
    for (i in seq_len(colonies)) if (left[i] > 0) n[i, 1:left[i]] <- rpois(left[i], own[i])
    N <- rowSums(n)
    T <- rbinom(colonies, N, rbeta(colonies, mu * (1 - rho) / rho, (1 - mu) * (1 - rho) / rho))
    # The least number of cups is of cups, the clusters are colonies.
    if (sum(n > 0) < minCups) "tooFew" else { old <- minCups; minCups <<- 2; r <- verdict(T, N); minCups <<- old; r }
  })
  sapply(NAMES, function(name) mean(said == name))
}

json <- function(x) paste0("{", paste0('"', names(x), '":', sapply(x, function(y)
  if (is.list(y) || length(y) > 1) json(as.list(y)) else if (is.character(y)) paste0('"', y, '"') else format(y, digits = 15)),
  collapse = ","), "}")

exacts <- list()
for (case in list(c(6, 4, 0.5, 0, 0), c(6, 4, 0.3, 0.1, 0), c(6, 4, 0.9, 0.1, 0.1), c(6, 4, 0.7, 0.2, 0.1), c(5, 6, 0.45, 0.1, 0.05), c(7, 3, 0.25, 0, 0.1)))
  exacts[[length(exacts) + 1]] <- json(c(list(cups = case[1], mites = case[2], efficacy = case[3], rho = case[4], lost = case[5]), as.list(exact(case[1], case[2], case[3], case[4], case[5]))))
fews <- list()
for (case in list(c(10, 3, 1.5, 0.1), c(10, 9, 1.5, 0.1), c(6, 5, 0.8, 0.2)))
  fews[[length(fews) + 1]] <- json(list(cups = case[1], mean = case[2], size = case[3], lost = case[4], tooFew = tooFew(case[1], case[2], case[3], case[4])))
set.seed(7); runs <- 100000
draws <- list()
for (case in list(c(10, 1, 9, 1.5, 0.5, 0.1, 0.1), c(10, 1, 3, 1.5, 0.9, 0.1, 0.1), c(10, 2, 9, 1.5, 0.4, 0.1, 0.1), c(10, 3, 6, 1.5, 0.4, 0.1, 0)))
  draws[[length(draws) + 1]] <- json(c(list(cups = case[1], cupsAColony = case[2], mean = case[3], size = case[4], efficacy = case[5], rho = case[6], lost = case[7], runs = runs), as.list(drawn(case[1], case[2], case[3], case[4], case[5], case[6], case[7], runs))))
list_of <- function(x) paste0("[\n    ", paste(unlist(x), collapse = ",\n    "), "\n  ]")
cat(paste0('{\n  "generator": "plan-chance.R",\n  "computedBy": "R ', getRversion(), '",\n  "line": 0.7,\n  "level": 0.95,\n  "minCups": 5,\n  "minMites": 20,\n  "exact": ', list_of(exacts), ',\n  "tooFew": ', list_of(fews), ',\n  "drawn": ', list_of(draws), '\n}\n'))
