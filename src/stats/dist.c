#include "stats/dist.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>
#include <math.h>
#include <stdbool.h>

static bool bad_p(double p) {
    return !(p > 0 && p < 1);
}

double normal_quantile(double p) {
    return bad_p(p) ? NAN : gsl_cdf_ugaussian_Pinv(p);
}

double normal_tail(double z) {
    return gsl_cdf_ugaussian_Q(z);
}

double student_tail(double t, double df) {
    if (isnan(t) || !(df > 0)) return NAN;
    return isinf(df) ? gsl_cdf_ugaussian_Q(t) : gsl_cdf_tdist_Q(t, df);
}

/* GSL starts from an expansion that is good to some six digits for a few degrees of freedom; two
 * Newton steps bring it to the accuracy of the tail itself. */
double student_quantile(double p, double df) {
    if (bad_p(p) || !(df > 0)) return NAN;
    if (p == 0.5) return 0;
    if (isinf(df)) return gsl_cdf_ugaussian_Pinv(p);
    double tail = p > 0.5 ? 1 - p : p;
    double t = gsl_cdf_tdist_Qinv(tail, df);
    for (int i = 0; i < 2; i++) {
        double density = gsl_ran_tdist_pdf(t, df);
        if (density > 0) t += (gsl_cdf_tdist_Q(t, df) - tail) / density;
    }
    return p > 0.5 ? t : -t;
}

double student_two_sided(double level, double df) {
    return student_quantile((1 + level) / 2, df);
}

/* With an infinite df2 the ratio is a chi-square over its df1, and likewise the other way. */
double f_tail(double f, double df1, double df2) {
    if (isnan(f) || !(df1 > 0) || !(df2 > 0)) return NAN;
    if (f <= 0) return 1;
    if (isinf(f)) return 0;
    if (isinf(df1) && isinf(df2)) return f > 1 ? 0 : 1;
    if (isinf(df2)) return gsl_cdf_chisq_Q(f * df1, df1);
    if (isinf(df1)) return gsl_cdf_chisq_P(df2 / f, df2);
    return gsl_cdf_fdist_Q(f, df1, df2);
}
