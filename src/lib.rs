//! Slackwater: clean-outs of flood-and-drain systems, from a turnover date to a released system.
//!
//! The modules stand in reading order: a later one may use an earlier one, never the other way.

pub mod science;

pub mod planner;

pub mod calculators;

pub mod drawings;

pub mod clock;
pub mod columns;
pub mod config;
pub mod db;
pub mod ids;

pub mod by_system;
pub mod kept;
pub mod outside;
pub mod table;
pub mod text;
pub mod web;
pub mod words;

pub mod asking;

pub mod state;

pub mod logbook;
pub mod site;

pub mod crew;

pub mod hours;

pub mod trouble;

pub mod register;

pub mod stock;

pub mod methods;

pub mod crops;

pub mod cleanouts;

pub mod turnovers;

pub mod plan;

pub mod today;

pub mod first_run;

pub mod calculator_pages;

pub mod cli;
pub mod routes;
