# Standard errors of B - A by generalised least squares with a known correlation and sigma = 1.
# R 4.2 with nlme; run from this folder: Rscript gls_fixed.R > gls_fixed.json
library(nlme)
orders <- c("ABABABAB", "ABBAABBA", "ABBABAAB", "AABBAABB", "AAAABBBB")
set.seed(1)
one <- function(order, correlation, formula) {
  d <- data.frame(slot = 1:8, trend = 1:8 - 4.5, method = factor(strsplit(order, "")[[1]]), y = rnorm(8))
  fit <- gls(formula, data = d, correlation = correlation, method = "REML", control = glsControl(sigma = 1))
  sqrt(vcov(fit)["methodB", "methodB"])
}
rows <- c()
for (o in orders) {
  for (rho in c(0.3, 0.5, 0.8)) {
    a <- one(o, corAR1(rho, form = ~slot, fixed = TRUE), y ~ method)
    b <- one(o, corAR1(rho, form = ~slot, fixed = TRUE), y ~ method + trend)
    rows <- c(rows, sprintf('{"order":"%s","kind":"ar1","value":%g,"plain":%.17g,"trend":%.17g}', o, rho, a, b))
  }
  for (reach in c(1.5, 6)) {
    a <- one(o, corExp(reach, form = ~slot, fixed = TRUE), y ~ method)
    b <- one(o, corExp(reach, form = ~slot, fixed = TRUE), y ~ method + trend)
    rows <- c(rows, sprintf('{"order":"%s","kind":"exponential","value":%g,"plain":%.17g,"trend":%.17g}', o, reach, a, b))
  }
}
cat("[\n", paste(rows, collapse = ",\n"), "\n]\n", sep = "")
