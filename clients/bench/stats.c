/* SPDX-License-Identifier: MIT */
#include "clients/bench/stats.h"

#include <math.h>

static bool all_finite(const double *value, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(value[i])) {
            return false;
        }
    }
    return true;
}

/* The second pass takes off what rounding left in the first. */
static long double mean_of(const double *value, size_t count)
{
    long double sum = 0;
    for (size_t i = 0; i < count; i++) {
        sum += value[i];
    }
    long double mean = sum / (long double)count;
    long double rest = 0;
    for (size_t i = 0; i < count; i++) {
        rest += value[i] - mean;
    }
    return mean + rest / (long double)count;
}

static long double products_of(const double *x, long double x_mean, const double *y,
                               long double y_mean, size_t count)
{
    long double sum = 0;
    for (size_t i = 0; i < count; i++) {
        sum += (x[i] - x_mean) * (y[i] - y_mean);
    }
    return sum;
}

bool stats_summary(const double *value, size_t count, struct stats_summary *out)
{
    if (count == 0 || !all_finite(value, count)) {
        return false;
    }
    long double mean = mean_of(value, count);
    long double squares = products_of(value, mean, value, mean, count);
    long double lagged = products_of(value, mean, value + 1, mean, count - 1);
    *out = (struct stats_summary){
        .mean = (double)mean,
        .sd = count > 1 ? (double)sqrtl(squares / (long double)(count - 1)) : 0,
        .autocorrelation = squares > 0 ? (double)(lagged / squares) : 0};
    return true;
}

bool stats_line(const double *x, const double *y, size_t count, struct stats_line *out)
{
    if (count < 3 || !all_finite(x, count) || !all_finite(y, count)) {
        return false;
    }
    long double x_mean = mean_of(x, count);
    long double y_mean = mean_of(y, count);
    long double xx = products_of(x, x_mean, x, x_mean, count);
    if (xx <= 0) {
        return false;
    }
    long double slope = products_of(x, x_mean, y, y_mean, count) / xx;
    long double squares = 0;
    for (size_t i = 0; i < count; i++) {
        long double residual = (y[i] - y_mean) - slope * (x[i] - x_mean);
        squares += residual * residual;
    }
    long double residual_sd = sqrtl(squares / (long double)(count - 2));
    *out = (struct stats_line){.intercept = (double)(y_mean - slope * x_mean),
                               .slope = (double)slope,
                               .intercept_sd = (double)(residual_sd * sqrtl(1 / (long double)count +
                                                                            x_mean * x_mean / xx)),
                               .slope_sd = (double)(residual_sd / sqrtl(xx)),
                               .residual_sd = (double)residual_sd};
    return true;
}

/* --- Least squares --- */

struct factors {
    size_t count;
    size_t terms;
    long double *row;                                /* becomes Q */
    long double r[STATS_TERMS_MAX][STATS_TERMS_MAX]; /* upper triangle */
    long double inverse[STATS_TERMS_MAX][STATS_TERMS_MAX];
    long double projected[STATS_TERMS_MAX]; /* of y on Q */
};

static long double column_dot(const struct factors *f, size_t a, size_t b)
{
    long double sum = 0;
    for (size_t i = 0; i < f->count; i++) {
        sum += f->row[i * f->terms + a] * f->row[i * f->terms + b];
    }
    return sum;
}

/* Makes column j of unit length and takes it out of those behind it. False where nothing of it was
 * left by those before. */
static bool reduce(struct factors *f, size_t j, long double size_before)
{
    long double size = sqrtl(column_dot(f, j, j));
    if (!(size > size_before * 1e-10L)) {
        return false;
    }
    f->r[j][j] = size;
    for (size_t i = 0; i < f->count; i++) {
        f->row[i * f->terms + j] /= size;
    }
    for (size_t k = j + 1; k < f->terms; k++) {
        f->r[j][k] = column_dot(f, j, k);
        for (size_t i = 0; i < f->count; i++) {
            f->row[i * f->terms + k] -= f->r[j][k] * f->row[i * f->terms + j];
        }
    }
    return true;
}

static bool factor(struct factors *f)
{
    long double size[STATS_TERMS_MAX];
    for (size_t j = 0; j < f->terms; j++) {
        size[j] = sqrtl(column_dot(f, j, j));
    }
    for (size_t j = 0; j < f->terms; j++) {
        if (!reduce(f, j, size[j])) {
            return false;
        }
    }
    return true;
}

/* Leaves the residuals in y. */
static void project(struct factors *f, long double *y)
{
    for (size_t j = 0; j < f->terms; j++) {
        long double sum = 0;
        for (size_t i = 0; i < f->count; i++) {
            sum += f->row[i * f->terms + j] * y[i];
        }
        f->projected[j] = sum;
        for (size_t i = 0; i < f->count; i++) {
            y[i] -= sum * f->row[i * f->terms + j];
        }
    }
}

/* Of the upper triangle, column by column. */
static void invert(struct factors *f)
{
    for (size_t column = 0; column < f->terms; column++) {
        for (size_t i = column + 1; i-- > 0;) {
            long double sum = i == column;
            for (size_t k = i + 1; k <= column; k++) {
                sum -= f->r[i][k] * f->inverse[k][column];
            }
            f->inverse[i][column] = sum / f->r[i][i];
        }
    }
}

bool stats_fit(long double *row, long double *y, size_t count, size_t terms, struct stats_fit *out)
{
    struct factors f = {.count = count, .terms = terms, .row = row};
    if (terms == 0 || terms > STATS_TERMS_MAX || count <= terms || !factor(&f)) {
        return false;
    }
    project(&f, y);
    invert(&f);
    long double squares = 0;
    for (size_t i = 0; i < count; i++) {
        squares += y[i] * y[i];
    }
    long double residual_sd = sqrtl(squares / (long double)(count - terms));
    *out = (struct stats_fit){.residual_sd = (double)residual_sd};
    for (size_t j = 0; j < terms; j++) {
        long double coefficient = 0;
        long double spread = 0;
        for (size_t k = j; k < terms; k++) {
            coefficient += f.inverse[j][k] * f.projected[k];
            spread += f.inverse[j][k] * f.inverse[j][k];
        }
        out->coefficient[j] = (double)coefficient;
        out->sd[j] = (double)(residual_sd * sqrtl(spread));
    }
    return true;
}
