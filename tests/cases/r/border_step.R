# The step at a line through a wheat uniformity trial: a straight line in the distance on each side, one along the
# line, errors with exponential correlation and a nugget, dense REML with free reach and nugget.
# From the root of the repository: Rscript tests/cases/r/border_step.R
d <- read.csv("tests/cases/data/spData_wheat_mercer_hall.csv")
one <- function(line) {
  d$depth <- d$lat - (line + 0.5) * 3.3
  d <- d[abs(d$depth) < 5 * 3.3, ]
  side <- (d$depth > 0) * 1
  along <- d$lon - mean(d$lon)
  x <- cbind(1, side, d$depth * (1 - side), d$depth * side, along)
  apart <- as.matrix(dist(cbind(d$depth, d$lon)))
  y <- d$yield
  fit <- function(theta) {
    v <- exp(-apart / exp(theta[1])) + diag(exp(theta[2]), length(y))
    root <- chol(v)
    xs <- backsolve(root, x, transpose = TRUE)
    ys <- backsolve(root, y, transpose = TRUE)
    b <- solve(crossprod(xs), crossprod(xs, ys))
    s2 <- sum((ys - xs %*% b)^2) / (length(y) - ncol(x))
    value <- (length(y) - ncol(x)) * log(s2) + 2 * sum(log(diag(root))) + as.numeric(determinant(crossprod(xs))$modulus)
    list(value = value, b = b, se = sqrt(diag(solve(crossprod(xs)) * s2)), s2 = s2)
  }
  best <- nlminb(log(c(8, 0.5)), function(t) fit(t)$value, lower = -12, upper = 12, control = list(rel.tol = 1e-12))
  f <- fit(best$par)
  c(line = line, range = exp(best$par[1]), nugget = exp(best$par[2]), step = f$b[2], se = f$se[2])
}
out <- t(sapply(c(5, 10, 15), one))
write.csv(format(out, digits = 12), "tests/cases/r/border_step.csv", quote = FALSE, row.names = FALSE)
