# Time of one REML + Kenward-Roger fit inside R (start-up excluded): median over repetitions, in milliseconds.
# Rscript mixed.R FILE.csv REPETITIONS   (columns block, trt, yield)
suppressMessages({library(lme4); library(pbkrtest)})
d <- read.csv(commandArgs(TRUE)[1]); d$block <- factor(d$block); d$trt <- factor(d$trt)
once <- function() { m <- lmer(yield ~ trt + (1 | block), d); A <- vcovAdj(m); c(fixef(m)[2], sqrt(A[2, 2]), get_Lb_ddf(m, c(0, 1))) }
for (i in 1:5) r <- once()
ms <- sapply(seq_len(as.integer(commandArgs(TRUE)[2])), function(i) { t <- proc.time()[["elapsed"]]
  for (j in 1:5) once(); (proc.time()[["elapsed"]] - t) * 200 })
cat(sprintf("%.17g", c(median(ms), r)), "\n")
