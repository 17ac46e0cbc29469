# One table with a known design, fitted by lme4 + pbkrtest + lmerTest, answer as JSON on standard output.
# Rscript live_mixed.R FILE.csv   (columns y, trt, block, plot; treatment contrasts; plot nested in block)
suppressMessages({library(lme4); library(pbkrtest); library(lmerTest); library(jsonlite)})
d <- read.csv(commandArgs(TRUE)[1]); for (v in c("trt", "block", "plot")) d[[v]] <- factor(d[[v]])
ctl <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-12, maxfun = 1e6), check.conv.singular = "ignore")
m <- lmerTest::lmer(y ~ trt + x + (1 | block) + (1 | plot), d, control = ctl)
A <- as.matrix(vcovAdj(m)); e <- diag(length(fixef(m))); a <- anova(m, ddf = "Kenward-Roger")
cat(toJSON(list(singular = isSingular(m), logLik = as.numeric(logLik(m)), estimate = unname(fixef(m)), se = sqrt(unname(diag(A))),
  df = sapply(seq_along(fixef(m)), function(i) get_Lb_ddf(m, e[i, ])), satterthwaite = unname(summary(m)$coefficients[, "df"]),
  F = a["trt", "F value"], den = a["trt", "DenDF"]), digits = I(17), auto_unbox = TRUE))
