//! Memory that can still be had, as the system tells it. Knows nothing of what it is for.

use std::fs;

/// Memory that can be had without swapping, within the limit of the control group where there
/// is one; nothing where the system does not tell.
///
/// # Units
/// Bytes.
#[must_use]
pub fn free_bytes() -> Option<u64> {
    let read = |path: &str| fs::read_to_string(path).ok();
    let system = read("/proc/meminfo").and_then(|told| available(&told));
    let group = |most: &str, used: &str, given_back: &str| {
        let inactive = read(given_back).and_then(|told| inactive_files(&told));
        left(&read(most)?, &read(used)?, inactive.unwrap_or(0))
    };
    let newer = || {
        group(
            "/sys/fs/cgroup/memory.max",
            "/sys/fs/cgroup/memory.current",
            "/sys/fs/cgroup/memory.stat",
        )
    };
    let older = || {
        group(
            "/sys/fs/cgroup/memory/memory.limit_in_bytes",
            "/sys/fs/cgroup/memory/memory.usage_in_bytes",
            "/sys/fs/cgroup/memory/memory.stat",
        )
    };
    system.into_iter().chain(newer().or_else(older)).min()
}

fn available(told: &str) -> Option<u64> {
    let line = told.lines().find_map(|line| line.strip_prefix("MemAvailable:"))?;
    let kilobytes: u64 = line.trim().strip_suffix("kB")?.trim().parse().ok()?;
    kilobytes.checked_mul(1024)
}

/// What a limit leaves; cached files that are not in use are given back when asked for.
fn left(most: &str, used: &str, inactive: u64) -> Option<u64> {
    // Without a limit the word is `max`.
    let most: u64 = most.trim().parse().ok()?;
    let used: u64 = used.trim().parse().ok()?;
    Some(most.saturating_sub(used.saturating_sub(inactive)))
}

fn inactive_files(told: &str) -> Option<u64> {
    let line = told
        .lines()
        .find_map(|line| line.strip_prefix("inactive_file "))?;
    line.trim().parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn free_memory_is_read_from_what_the_system_tells() {
        let told = "MemTotal:       24576000 kB\nMemFree:          100000 kB\nMemAvailable:   16000000 kB\n";
        assert_eq!(available(told), Some(16_384_000_000));
        assert_eq!(available("MemTotal: 1 kB"), None);
    }

    #[test]
    fn a_limit_of_the_group_counts() {
        let stat = "anon 5\ninactive_file 300\nactive_file 7\n";
        let inactive = inactive_files(stat).unwrap();
        assert_eq!(left("1000\n", "700\n", inactive), Some(600));
        assert_eq!(left("max\n", "700\n", 0), None);
        assert_eq!(left("500\n", "700\n", 0), Some(0));
    }
}
