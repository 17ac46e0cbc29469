# Even columns of a uniformity trial against odd ones, errors with exponential correlation and a nugget: dense REML.
# From the root of the repository: Rscript tests/cases/r/uniformity_exponential.R
fields <- c("peach", "tomato")
one <- function(field) {
  d <- read.csv(sprintf("tests/cases/data/agri_%s_uniformity.csv", field))
  d <- d[!is.na(d$yield), ]
  y <- d$yield
  x <- cbind(1, (d$col %% 2 == 0) * 1)
  apart <- as.matrix(dist(d[, c("row", "col")]))
  fit <- function(theta) {
    v <- exp(-apart / exp(theta[1])) + diag(exp(theta[2]), length(y))
    root <- chol(v)
    xs <- backsolve(root, x, transpose = TRUE)
    ys <- backsolve(root, y, transpose = TRUE)
    b <- solve(crossprod(xs), crossprod(xs, ys))
    s2 <- sum((ys - xs %*% b)^2) / (length(y) - 2)
    value <- (length(y) - 2) * log(s2) + 2 * sum(log(diag(root))) + as.numeric(determinant(crossprod(xs))$modulus)
    list(value = value, b = b, se = sqrt(diag(solve(crossprod(xs)) * s2)), s2 = s2)
  }
  best <- nlminb(log(c(3, 0.5)), function(t) fit(t)$value, lower = -12, upper = 12, control = list(rel.tol = 1e-12))
  f <- fit(best$par)
  c(range = exp(best$par[1]), sill = f$s2, nugget = f$s2 * exp(best$par[2]), estimate = f$b[2], se = f$se[2])
}
out <- t(sapply(fields, one))
write.csv(format(out, digits = 12), "tests/cases/r/uniformity_exponential.csv", quote = FALSE)
