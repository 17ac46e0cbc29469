# More reference results: the split plot of Stroup (1989) complete and with one plot missing, the Slate Hall 1978 lattice,
# an invented resolvable incomplete-block trial, and invented plots of unequal number within strips.
# Run from tests/cases:  Rscript r/more_models.R   (writes r/more_models.json, 17 significant digits)
suppressMessages({library(lme4); library(pbkrtest); library(lmerTest); library(jsonlite)})
options(contrasts = c("contr.treatment", "contr.treatment"))
F <- factor
ctl <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-12, maxfun = 1e6), check.conv.singular = "ignore")
read <- function(name, factors) { d <- read.csv(file.path("data", name)); for (v in factors) d[[v]] <- F(d[[v]]); d }
tests <- function(m, ddf) { a <- anova(m, ddf = ddf)
  data.frame(term = rownames(a), F = a$`F value`, num = a$NumDF, den = a$DenDF, p = a$`Pr(>F)`) }
fit <- function(formula, data) {
  m <- lmerTest::lmer(formula, data, REML = TRUE, control = ctl)
  b <- fixef(m); A <- as.matrix(vcovAdj(m)); e <- diag(length(b))
  df <- sapply(seq_along(b), function(i) get_Lb_ddf(m, e[i, ]))
  v <- as.data.frame(VarCorr(m))
  list(formula = deparse1(formula), logLik_REML = as.numeric(logLik(m)), singular = isSingular(m),
    variance_components = setNames(as.list(v$vcov), v$grp),
    fixed = data.frame(term = names(b), estimate = unname(b), se_plain = sqrt(diag(as.matrix(vcov(m)))), se_KR = sqrt(diag(A)),
      df_KR = df, t = unname(b) / sqrt(diag(A))),
    satterthwaite_df = as.list(summary(m)$coefficients[, "df"]),
    F_KR = tests(m, "Kenward-Roger"),
    F_satterthwaite = tests(m, "Satterthwaite"),
    # the joint Satterthwaite df depends on how the hypothesis is written, so the rows used are kept
    hypotheses = lapply(show_tests(anova(m), fractions = FALSE), unname))
}
out <- list(versions = list(R = R.version.string, lme4 = as.character(packageVersion("lme4")),
  pbkrtest = as.character(packageVersion("pbkrtest")), lmerTest = as.character(packageVersion("lmerTest"))))
s <- read("stroup_splitplot.csv", c("block", "a", "b"))
out$stroup <- fit(y ~ a * b + (1 | block) + (1 | block:a), s)
out$stroup_missing <- fit(y ~ a * b + (1 | block) + (1 | block:a), s[-1, ])
h <- read("slate_hall_1978.csv", c("variety")); h$rep <- F(paste((h$row - 1) %/% 5, (h$col - 1) %/% 5)); h$row <- F(h$row); h$col <- F(h$col)
out$slate_hall_rows_columns <- fit(grams ~ variety + (1 | row) + (1 | col), h)
out$slate_hall_lattice <- fit(grams ~ variety + (1 | rep) + (1 | rep:row) + (1 | rep:col), h)
i <- read("invented_incomplete_blocks.csv", c("rep", "block", "trt"))
out$incomplete_blocks <- fit(y ~ trt + rep + (1 | block), i)
p <- read("invented_plots_in_strips.csv", c("strip", "block", "trt"))
out$plots_in_strips <- fit(y ~ trt + (1 | block) + (1 | strip), p)
out$plots_in_strips_alike <- fit(y_alike ~ trt + (1 | block) + (1 | strip), p)
out$plots_in_strips_fixed <- fit(y_alike ~ trt + block + (1 | strip), p)
write_json(out, "r/more_models.json", digits = I(17), auto_unbox = TRUE, na = "null", pretty = TRUE, dataframe = "rows")
