# Split plots by the classic analysis of variance: base R, aov with Error strata.
# Run from tests/cases:  Rscript r/split_plot.R   (writes r/split_plot.json, 17 significant digits; needs jsonlite for writing)
# Data: nlme_Oats.csv (Yates 1935, varieties on whole plots, nitrogen within), stroup_splitplot.csv (Stroup 1989).
suppressMessages(library(jsonlite))
F <- factor
strata <- function(fit) {
  s <- summary(fit)
  lapply(s, function(one) { a <- one[[1]]
    data.frame(term = trimws(rownames(a)), df = a$Df, sum_of_squares = a$`Sum Sq`, mean_square = a$`Mean Sq`,
      F = if (is.null(a$`F value`)) NA else a$`F value`, p = if (is.null(a$`Pr(>F)`)) NA else a$`Pr(>F)`) })
}
oats <- read.csv("data/nlme_Oats.csv")
for (v in c("Block", "Variety", "nitro")) oats[[v]] <- F(oats[[v]])
stroup <- read.csv("data/stroup_splitplot.csv")
for (v in c("block", "a", "b")) stroup[[v]] <- F(stroup[[v]])
out <- list(version = R.version.string,
  oats = strata(aov(yield ~ Variety * nitro + Error(Block / Variety), oats)),
  stroup = strata(aov(y ~ a * b + Error(block / a), stroup)))
write_json(out, "r/split_plot.json", digits = I(17), auto_unbox = TRUE, na = "null", pretty = TRUE, dataframe = "rows")
