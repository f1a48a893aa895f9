/*
 * Quantiles and tails of the usual distributions (GSL), with infinite degrees of freedom allowed.
 * Probabilities must lie strictly between 0 and 1, degrees of freedom above 0; anything else gives
 * NaN, never a call of GSL's error handler.
 */
#ifndef THOU_STATS_DIST_H
#define THOU_STATS_DIST_H

double normal_quantile(double p);
double normal_tail(double z); /* chance of more than z */
double student_quantile(double p, double df);
double student_tail(double t, double df);
/* The t that a two-sided interval of this level takes: student_quantile((1 + level) / 2, df). */
double student_two_sided(double level, double df);
double f_tail(double f, double df1, double df2);

#endif
