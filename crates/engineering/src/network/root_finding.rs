//! Root finding for a function of one variable.

/// Root of an increasing function: a bracket is widened from `start` until it contains the root, then bisected. If the
/// function is zero over an interval, the point nearest to `start`.
pub(super) fn find_root(rising: impl Fn(f64) -> f64, start: f64) -> f64 {
    let there = rising(start);
    if there.abs() <= 0.0 || !there.is_finite() {
        return start;
    }
    let towards = -there.signum();
    let (mut near, mut far) = (start, start);
    let mut width = start.abs() * 1e-6 + 1.0;
    for _ in 0..80 {
        far = near + towards * width;
        let value = rising(far);
        if value.abs() <= 0.0 {
            return far;
        }
        if value * towards > 0.0 {
            break;
        }
        near = far;
        width *= 4.0;
        if width > 1e18 {
            return start;
        }
    }
    for _ in 0..70 {
        let middle = f64::midpoint(near, far);
        if rising(middle) * towards > 0.0 {
            far = middle;
        } else {
            near = middle;
        }
    }
    f64::midpoint(near, far)
}
