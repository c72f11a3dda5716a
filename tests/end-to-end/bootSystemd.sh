#!/usr/bin/env bash
# Boots systemd with one unit in namespaces of its own, until this script is killed; nothing outside of them is touched.
# $1 the unit as stillwarm.service, $2 the folder that becomes /opt/stillwarm, $3 that of node, $4 one that both sides see,
# $5 a control group (version 2) of its own, $6 what to do before systemd starts
set -e
mount --make-rprivate /
echo $$ > "$5/cgroup.procs"
# What a computer has and a namespace has not, or has already.
masked='systemd-udevd.service systemd-udev-trigger.service systemd-journald.service systemd-journald.socket
systemd-journald-dev-log.socket systemd-journal-flush.service systemd-tmpfiles-setup.service systemd-tmpfiles-setup-dev.service
systemd-sysctl.service systemd-random-seed.service systemd-modules-load.service kmod-static-nodes.service systemd-binfmt.service
proc-sys-fs-binfmt_misc.automount local-fs.target dev-hugepages.mount dev-mqueue.mount sys-kernel-debug.mount
sys-kernel-tracing.mount sys-kernel-config.mount sys-fs-fuse-connections.mount'
export masked
exec unshare --cgroup --pid --uts --ipc --fork --kill-child --mount-proc bash -c '
set -e
umount -Rl /sys/fs/cgroup
mount -t cgroup2 none /sys/fs/cgroup
for at in /run /opt /var/lib /etc/systemd/system; do mount -t tmpfs tmpfs $at; done
mkdir /opt/stillwarm /opt/node /run/shared
mount --bind "$2" /opt/stillwarm
mount --bind "$3" /opt/node
mount --bind "$4" /run/shared
cp "$1" /etc/systemd/system/stillwarm.service
eval "$6"
for unit in $masked; do ln -s /dev/null /etc/systemd/system/$unit; done
exec env -i container=test PATH=/usr/sbin:/usr/bin:/sbin:/bin /lib/systemd/systemd --system --unit=stillwarm.service --log-target=null
' boot "$@"
