#include "circuits.hpp"

#include <random>
#include <sstream>

namespace stopspan::test {

using enum DeviceKind;

namespace {

const Parameters coil_230{{"coil_voltage_v", 230.0}, {"coil_current", std::string("AC")}};

Parameters start_role() {
    return {{"role", std::string("start")}};
}
Parameters stop_role() {
    return {{"role", std::string("stop")}};
}
Parameters fuse_of(double rating_a) {
    return {{"rating_a", rating_a}};
}

void three_phase(Circuit &circuit) {
    wire_up(circuit, "MAINS", mains_3ph, "L1=L1 L2=L2 L3=L3 N=N");
}

} // namespace

void wire_up(Circuit &circuit, const std::string &designation, DeviceKind kind, const std::string &connections,
             const Parameters &parameters) {
    std::vector<Connection> wired;
    std::istringstream words(connections);
    for (std::string word; words >> word;) {
        const auto equals = word.find('=');
        wired.push_back({word.substr(0, equals), word.substr(equals + 1)});
    }
    circuit.add(designation, kind, wired, parameters);
}

Circuit direct_on_line() {
    Circuit c;
    three_phase(c);
    wire_up(c, "Q1", isolator, "1=L1 2=u1 3=L2 4=u2 5=L3 6=u3");
    wire_up(c, "F2", fuse, "1=u1 2=a", {{"rating_a", 2.0}, {"fuse_type", std::string("gG")}});
    wire_up(c, "F1", overload, "1=t1 2=m1 3=t2 4=m2 5=t3 6=m3 95=a 96=b", {{"setting_a", 4.2}});
    wire_up(c, "ES1", emergency_stop, "11=b 12=c");
    wire_up(c, "S0", push_button, "11=c 12=d", stop_role());
    wire_up(c, "S1", push_button, "13=d 14=e", start_role());
    wire_up(c, "K1", contactor, "A1=e A2=N 13=d 14=e 1=u1 2=t1 3=u2 4=t2 5=u3 6=t3", coil_230);
    wire_up(c, "M1", motor_3ph, "U=m1 V=m2 W=m3", {{"power_kw", 1.5}});
    return c;
}

Circuit room_zone() {
    Circuit c;
    three_phase(c);
    wire_up(c, "Q0", isolator, "1=L1 2=u1 3=L2 4=u2 5=L3 6=u3");
    wire_up(c, "LIGHT", load, "1=L3 2=N", {{"kept", true}});
    wire_up(c, "EXTR", load, "1=u3 2=N", {{"kept", true}});
    wire_up(c, "F9", fuse, "1=u1 2=a", fuse_of(2));
    wire_up(c, "ES1", emergency_stop, "11=a 12=b");
    wire_up(c, "ES2", emergency_stop, "11=b 12=c");
    wire_up(c, "ES3", emergency_stop, "11=c 12=d");
    wire_up(c, "SK", key_switch, "13=d 14=e", {{"action", std::string("spring-return")}});
    wire_up(c, "KM", contactor, "A1=e A2=N 13=d 14=e 1=u1 2=z1 3=u2 4=z2 5=u3 6=z3", coil_230);
    wire_up(c, "Q1", isolator, "1=z1 2=x1 3=z2 4=x2 5=z3 6=x3");
    wire_up(c, "F12", fuse, "1=x1 2=p1", fuse_of(2));
    wire_up(c, "F11", overload, "1=t1 2=m1 3=t2 4=m2 5=t3 6=m3 95=p1 96=p2");
    wire_up(c, "S10", push_button, "11=p2 12=p3", stop_role());
    wire_up(c, "S11", push_button, "13=p3 14=p4", start_role());
    wire_up(c, "K1", contactor, "A1=p4 A2=N 13=p3 14=p4 1=x1 2=t1 3=x2 4=t2 5=x3 6=t3", coil_230);
    wire_up(c, "M1", motor_3ph, "U=m1 V=m2 W=m3");
    wire_up(c, "Q2", isolator, "1=z2 2=y1 3=N 4=yn");
    wire_up(c, "F22", fuse, "1=y1 2=q1", fuse_of(2));
    wire_up(c, "S20", push_button, "11=q1 12=q2", stop_role());
    wire_up(c, "S21", push_button, "13=q2 14=q3", start_role());
    wire_up(c, "K2", contactor, "A1=q3 A2=yn 13=q2 14=q3 1=y1 2=w1 3=yn 4=wn", coil_230);
    wire_up(c, "M2", motor_1ph, "L=w1 N=wn");
    return c;
}

Circuit star_delta() {
    Circuit c;
    three_phase(c);
    wire_up(c, "F2", fuse, "1=L1 2=a", fuse_of(2));
    wire_up(c, "F1", overload, "1=k1 2=m1 3=k2 4=m2 5=k3 6=m3 95=a 96=b");
    wire_up(c, "S0", push_button, "11=b 12=d", stop_role());
    wire_up(c, "S1", push_button, "13=d 14=e", start_role());
    wire_up(c, "KM1", contactor, "A1=e A2=N 13=d 14=e 1=L1 2=k1 3=L2 4=k2 5=L3 6=k3", coil_230);
    wire_up(c, "ES1", emergency_stop, "11=e 12=f");
    wire_up(c, "KT", timer, "A1=f A2=N 15=f 16=g 17=f 18=i", coil_230);
    wire_up(c, "KY", contactor, "A1=h A2=N 21=i 22=j 1=u2 2=s 3=v2 4=s 5=w2 6=s", coil_230);
    wire_up(c, "KD", contactor, "A1=j A2=N 21=g 22=h 1=m1 2=w2 3=m2 4=u2 5=m3 6=v2", coil_230);
    wire_up(c, "M1", motor_6lead, "U1=m1 V1=m2 W1=m3 U2=u2 V2=v2 W2=w2");
    return c;
}

Circuit joined_coils() {
    Circuit c;
    three_phase(c);
    for (const std::string n : {"1", "2"}) {
        wire_up(c, "Q" + n, isolator, "1=L1 2=a" + n + " 3=L2 4=b" + n + " 5=L3 6=c" + n);
        wire_up(c, "F" + n + "2", fuse, "1=a" + n + " 2=p" + n, fuse_of(2));
        wire_up(c, "ES" + n, emergency_stop, "11=p" + n + " 12=q" + n);
        wire_up(c, "S" + n + "0", push_button, "11=q" + n + " 12=r" + n, stop_role());
        wire_up(c, "S" + n + "1", push_button, "13=r" + n + " 14=e" + n, start_role());
        wire_up(c, "K" + n, contactor,
                "A1=e" + n + " A2=N 13=r" + n + " 14=e" + n + " 1=a" + n + " 2=m" + n + "1 3=b" + n + " 4=m" + n +
                    "2 5=c" + n + " 6=m" + n + "3",
                coil_230);
        wire_up(c, "M" + n, motor_3ph, "U=m" + n + "1 V=m" + n + "2 W=m" + n + "3");
        wire_up(c, "W" + n, link, "1=e" + n + " 2=x");
    }
    wire_up(c, "K9", contactor, "A1=x A2=N 1=L1 2=g1 3=L2 4=g2 5=L3 6=g3", coil_230);
    wire_up(c, "M9", motor_3ph, "U=g1 V=g2 W=g3");
    return c;
}

Circuit stops_in_neutral() {
    Circuit c;
    three_phase(c);
    wire_up(c, "F2", fuse, "1=L1 2=a", fuse_of(2));
    wire_up(c, "S1", push_button, "13=a 14=e", start_role());
    wire_up(c, "F1", overload, "1=t1 2=m1 3=t2 4=m2 5=t3 6=m3 95=g 96=h");
    wire_up(c, "ES1", emergency_stop, "11=h 12=i");
    wire_up(c, "S0", push_button, "11=i 12=N", stop_role());
    wire_up(c, "K1", contactor, "A1=e A2=g 13=a 14=e 1=L1 2=t1 3=L2 4=t2 5=L3 6=t3", coil_230);
    wire_up(c, "M1", motor_3ph, "U=m1 V=m2 W=m3");
    return c;
}

Circuit between_phases() {
    Circuit c;
    three_phase(c);
    wire_up(c, "F2", fuse, "1=L1 2=a", fuse_of(2));
    wire_up(c, "F3", fuse, "1=L2 2=h", fuse_of(2));
    wire_up(c, "S0", push_button, "11=a 12=d", stop_role());
    wire_up(c, "S1", push_button, "13=d 14=e", start_role());
    wire_up(c, "K1", contactor, "A1=e A2=h 13=d 14=e 1=L1 2=t1 3=L2 4=t2 5=L3 6=t3", {{"coil_voltage_v", 400.0}});
    wire_up(c, "M1", motor_3ph, "U=t1 V=t2 W=t3");
    return c;
}

Circuit direct_current() {
    Circuit c;
    three_phase(c);
    wire_up(c, "T1", dc_supply, "ac1=L1 ac2=N P=p M=m", {{"voltage_v", 24.0}, {"earthed_pole", std::string("M")}});
    wire_up(c, "F3", fuse, "1=p 2=a", fuse_of(2));
    wire_up(c, "ES1", emergency_stop, "11=a 12=c");
    wire_up(c, "S0", push_button, "11=c 12=d", stop_role());
    wire_up(c, "S1", push_button, "13=d 14=e", start_role());
    wire_up(c, "P1", lamp, "1=e 2=m", {{"voltage_v", 24.0}});
    wire_up(c, "K1", contactor, "A1=e A2=m 13=d 14=e 1=L1 2=t1 3=L2 4=t2 5=L3 6=t3",
            {{"coil_voltage_v", 24.0}, {"coil_current", std::string("DC")}});
    wire_up(c, "M1", motor_3ph, "U=t1 V=t2 W=t3");
    return c;
}

Circuit long_chain() {
    Circuit c;
    wire_up(c, "MAINS", mains_1ph, "L=L N=N");
    std::string from = "L";
    for (int i = 1; i <= 24; ++i) {
        const std::string to = "chain" + std::to_string(i);
        wire_up(c, "ES" + std::to_string(i), emergency_stop, "11=" + from + " 12=" + to);
        from = to;
    }
    wire_up(c, "S1", push_button, "13=" + from + " 14=e", start_role());
    wire_up(c, "K1", contactor, "A1=e A2=N 13=" + from + " 14=e 23=chain3 24=chain20 1=L 2=w 3=N 4=v", coil_230);
    wire_up(c, "M1", motor_1ph, "L=w N=v");
    return c;
}

Circuit bridged_paths() {
    Circuit c;
    wire_up(c, "MAINS", mains_1ph, "L=L N=N");
    for (const std::string n : {"1", "2", "3"}) {
        wire_up(c, "S" + n + "0", push_button, "11=L 12=a" + n, stop_role());
        wire_up(c, "S" + n + "1", push_button, "13=a" + n + " 14=b" + n, start_role());
        wire_up(c, "S" + n + "2", selector, "13=b" + n + " 14=c" + n);
        wire_up(c, "K" + n, relay, "A1=c" + n + " A2=N 13=a" + n + " 14=b" + n + " 1=a1 2=c3", coil_230);
    }
    wire_up(c, "K4", relay, "A1=b1 A2=b3 13=a1 14=b2 21=a2 22=c3 31=b1 32=b1", coil_230); // across, and onto itself
    wire_up(c, "R1", resistor, "1=c1 2=c2", {{"resistance_ohm", 100.0}});
    wire_up(c, "C1", capacitor, "1=a2 2=c1", {{"capacitance_uf", 0.15}});
    return c;
}

Circuit common_rail() {
    Circuit c;
    three_phase(c);
    wire_up(c, "F9", fuse, "1=L1 2=a", fuse_of(4));
    wire_up(c, "ES1", emergency_stop, "11=a 12=b");
    wire_up(c, "ES2", emergency_stop, "11=b 12=rail");
    for (const std::string n : {"1", "2", "3"}) {
        wire_up(c, "F" + n, overload, "1=t" + n + " 2=m" + n + " 3=u" + n + " 4=v" + n + " 95=rail 96=p" + n);
        wire_up(c, "S" + n, push_button, "13=p" + n + " 14=e" + n, start_role());
        wire_up(c, "K" + n, contactor, "A1=e" + n + " A2=N 13=p" + n + " 14=e" + n + " 1=L1 2=t" + n + " 3=N 4=u" + n,
                coil_230);
        wire_up(c, "M" + n, motor_1ph, "L=m" + n + " N=v" + n);
    }
    return c;
}

Circuit every_kind() {
    Circuit c;
    three_phase(c);
    wire_up(c, "G2", mains_1ph, "L=g N=gn");
    wire_up(c, "T1", dc_supply, "P=p M=m", {{"voltage_v", 24.0}});
    wire_up(c, "T2", transformer, "p1=L1 p2=L2 s1=x s2=z",
            {{"secondary_v", 24.0}, {"earthed_pole", std::string("s2")}});
    wire_up(c, "Q1", isolator, "1=L1 2=u1 3=L2 4=u2 5=L3 6=u3 7=N 8=un 13=x 14=x1 21=x 22=x2");
    wire_up(c, "F1", fuse, "1=u1 2=f1", fuse_of(16));
    wire_up(c, "F2", overload, "1=f1 2=f2 95=x1 96=a 97=x1 98=b");
    const DeviceKind hands[] = {push_button, selector,  key_switch,     pedal,
                                floor_bar,   pull_wire, emergency_stop, guard_switch};
    std::string from = "a";
    for (std::size_t i = 0; i < std::size(hands); ++i) {
        const std::string to = "h" + std::to_string(i);
        wire_up(c, "S" + std::to_string(i + 1), hands[i],
                "11=" + from + " 12=" + to + " 13=x 14=s" + std::to_string(i));
        from = to;
    }
    const Parameters coil_24{{"coil_voltage_v", 24.0}, {"coil_current", std::string("AC")}};
    wire_up(c, "K1", contactor, "A1=" + from + " A2=z 1=f2 2=m1 3=u2 4=m2 5=u3 6=m3 13=a 14=s0 21=x 22=k1", coil_24);
    wire_up(c, "K2", relay, "A1=k1 A2=z 1=x 2=k2 13=x 14=k2", coil_24);
    Parameters off_delay = coil_24;
    off_delay.emplace("delay", std::string("off"));
    wire_up(c, "K3", timer, "A1=k2 A2=z 15=x 16=k3 17=x 18=k4", off_delay);
    wire_up(c, "K4", latched_contactor, "C1=k3 C2=z E1=k4 E2=z 1=u1 2=y1 13=x 14=k5", coil_24);
    wire_up(c, "K5", stop_relay,
            "A1=p A2=m S11=i1 S12=i2 S21=i3 S22=i4 S33=i5 S34=i6 Y1=i7 Y2=i8 13=x 14=k6 23=x 24=k6",
            {{"coil_voltage_v", 24.0}});
    wire_up(c, "S9", emergency_stop, "11=i1 12=i2 21=i3 22=i4");
    wire_up(c, "S10", push_button, "13=i5 14=i6");
    wire_up(c, "M1", motor_3ph, "U=m1 V=m2 W=m3");
    wire_up(c, "M2", motor_1ph, "L=y1 N=un");
    wire_up(c, "M3", motor_6lead, "U1=m1 V1=m2 W1=m3 U2=n1 V2=n2 W2=n3");
    wire_up(c, "M4", motor_2speed, "U1=m1 V1=m2 W1=m3 U2=o1 V2=o2 W2=o3");
    wire_up(c, "U1", drive, "R=u1 S=u2 T=u3 RUN1=d1 RUN2=d2 STO1=d3 STO2=d4");
    wire_up(c, "S12", selector, "13=d1 14=d2 23=d3 24=d4");
    wire_up(c, "P1", lamp, "1=k5 2=z");
    wire_up(c, "E1", load, "1=u3 2=un", {{"kept", true}});
    wire_up(c, "R1", resistor, "1=k6 2=r", {{"resistance_ohm", 4.9}});
    wire_up(c, "C1", capacitor, "1=r 2=z", {{"capacitance_uf", 0.15}});
    wire_up(c, "W1", cable, "1.1=r 1.2=w1 2.1=k5 2.2=w2", {{"length_m", 100.0}, {"csa_mm2", 0.75}});
    wire_up(c, "B1", insulation_monitor, "L=p PE=PE 11=w1 12=w2");
    wire_up(c, "X1", link, "1=w1 2=z");
    return c;
}

Circuit random_circuit(std::uint32_t seed, std::size_t devices, std::size_t nets) {
    std::mt19937 random(seed);
    const auto below = [&](std::size_t n) { return static_cast<std::size_t>(random()) % n; };
    const auto net = [&] {
        const std::size_t i = below(nets + 4);
        return i == 0 ? std::string("L1") : i == 1 ? "L2" : i == 2 ? "N" : i == 3 ? "PE" : "n" + std::to_string(i - 3);
    };
    const auto pairs = [&](std::vector<std::pair<std::string, std::string>> all, std::size_t least) {
        std::string text;
        for (std::size_t i = 0; i < all.size(); ++i)
            if (i < least || below(2))
                text += all[i].first + "=" + net() + " " + all[i].second + "=" + net() + " ";
        return text;
    };
    Circuit c;
    three_phase(c);
    for (std::size_t i = 1; i <= devices; ++i) {
        const std::string n = std::to_string(i);
        switch (below(9)) {
        case 0:
            wire_up(c, "F" + n, fuse, pairs({{"1", "2"}}, 1), fuse_of(4));
            break;
        case 1:
            wire_up(c, "S" + n, emergency_stop, pairs({{"11", "12"}, {"21", "22"}, {"13", "14"}}, 1));
            break;
        case 2:
            wire_up(c, "S" + n, push_button, pairs({{"13", "14"}, {"11", "12"}}, 1), start_role());
            break;
        case 3:
        case 4:
            wire_up(c, "K" + n, contactor,
                    pairs({{"A1", "A2"}, {"13", "14"}, {"21", "22"}, {"1", "2"}, {"3", "4"}, {"5", "6"}}, 1), coil_230);
            break;
        case 5:
            wire_up(c, "K" + n, timer, pairs({{"A1", "A2"}, {"15", "16"}, {"17", "18"}}, 1), coil_230);
            break;
        case 6:
            wire_up(c, "P" + n, lamp, pairs({{"1", "2"}}, 1));
            break;
        case 7:
            wire_up(c, "M" + n, motor_3ph, "U=" + net() + " V=" + net() + " W=" + net());
            break;
        default:
            wire_up(c, "Q" + n, isolator, pairs({{"1", "2"}, {"3", "4"}, {"13", "14"}}, 1));
        }
    }
    return c;
}

std::vector<NamedCircuit> sample_circuits() {
    std::vector<NamedCircuit> all{
        {"direct_on_line", direct_on_line()},
        {"room_zone", room_zone()},
        {"star_delta", star_delta()},
        {"joined_coils", joined_coils()},
        {"stops_in_neutral", stops_in_neutral()},
        {"between_phases", between_phases()},
        {"direct_current", direct_current()},
        {"long_chain", long_chain()},
        {"bridged_paths", bridged_paths()},
        {"common_rail", common_rail()},
        {"every_kind", every_kind()},
    };
    for (std::uint32_t seed = 1; seed <= 20; ++seed)
        all.push_back({"random_" + std::to_string(seed), random_circuit(seed, 4 + seed * 2, 3 + seed)});
    return all;
}

} // namespace stopspan::test
