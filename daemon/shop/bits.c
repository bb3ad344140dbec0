/* SPDX-License-Identifier: MIT */
#include "daemon/shop/shop.h"
#include "protocol/length.h"

#define RING_MARGIN_NM (LENGTH_NM_PER_IN / 8)

bool bit_steps(const struct bit *bit)
{
    switch ((enum bit_shape)bit->shape) {
    case BIT_DOVETAIL:
    case BIT_T_SLOT:
    case BIT_KEYHOLE:
    case BIT_LOCK_MITRE:
    case BIT_STILE_RAIL:
    case BIT_RAISER_BACK_CUTTER:
    case BIT_VERTICAL_RAISER:
        return false;
    default:
        return true;
    }
}

bool bit_lowest(const struct bit *bit, const struct ring *ring, int64_t *nm)
{
    if (!ring || bit->diameter_nm <= ring->opening_nm - RING_MARGIN_NM) {
        return false;
    }
    int64_t cutting_nm = bit->cutting_nm > 0 ? bit->cutting_nm : SHOP_CUTTING_MOST_NM;
    *nm = bit->point == POINT_LOWER_EDGE ? 0 : cutting_nm;
    return true;
}

bool bit_below_top(const struct bit *bit, int64_t *nm)
{
    *nm = bit->point == POINT_LOWER_EDGE ? bit->cutting_nm : 0;
    return bit->point == POINT_TOP_EDGE || (bit->point == POINT_LOWER_EDGE && bit->cutting_nm > 0);
}

uint32_t bit_speed_most(const struct bit *bit)
{
    static const struct {
        int64_t diameter_nm;
        uint32_t turns_min;
    } chart[] = {
        {LENGTH_NM_PER_IN, 24000},
        {2 * LENGTH_NM_PER_IN, 18000},
        {5 * LENGTH_NM_PER_IN / 2, 16000},
        {3 * LENGTH_NM_PER_IN, 12000},
    };
    uint32_t most = 10000;
    for (size_t i = sizeof chart / sizeof *chart; i > 0; i--) {
        most = bit->diameter_nm <= chart[i - 1].diameter_nm ? chart[i - 1].turns_min : most;
    }
    return bit->speed_most != 0 && bit->speed_most < most ? bit->speed_most : most;
}

int64_t pair_height_nm(const struct pair *pair, bool second, int64_t other_nm)
{
    return second ? other_nm + pair->difference_nm : other_nm - pair->difference_nm;
}

double bit_rim_m_s(int64_t diameter_nm, double turns_min)
{
    const double pi = 3.14159265358979323846;
    return pi * (double)diameter_nm * 1e-9 * turns_min / 60;
}
