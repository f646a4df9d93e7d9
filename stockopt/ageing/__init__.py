"""How long parts last: the posterior of each part's Weibull life."""
